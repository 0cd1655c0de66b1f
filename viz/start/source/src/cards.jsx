import { ask } from "./line.js";
import { Command, Plan, Verdict, folder, say } from "./parts.jsx";

const WAITING = "waiting";
const NOT_PLACED = "none";

function Card({ card }) {
  const id = `card-${card.file}`;
  if (card.look === WAITING)
    return (
      <li class="card waiting" aria-busy="true">
        <div class="plan" />
        <div class="about">
          <h2>{card.title}</h2>
        </div>
      </li>
    );
  return (
    <li class="card" data-look={card.look} data-file={card.file}>
      {card.svg ? <Plan svg={card.svg} /> : <pre class="mistakes" tabIndex={0} aria-label={say("mistakes")}>{card.mistakes}</pre>}
      <div class="about">
        <Verdict look={card.look} word={card.word} />
        <h2 id={id}>
          {card.svg ? (
            <a class="whole" href={card.href} aria-describedby={`${id}-what`}>
              {card.title}
            </a>
          ) : (
            card.title
          )}
        </h2>
        <span class="unseen" id={`${id}-what`}>
          {say("open, what")}
        </span>
        {card.about && <p class="quiet">{card.about}</p>}
        {card.counts && <p class="counts">{card.counts}</p>}
        {card.open && <p class="open">{card.open}</p>}
      </div>
      <footer>
        <div class="acts">
          {card.svg && (
            <a class="plain" href={`#/place/${encodeURIComponent(card.file)}`} aria-label={`${say("place")} ${card.title}`}>
              {say("place")}
            </a>
          )}
          {card.svg && card.look !== NOT_PLACED && (
            <a class="plain" href={`#/documents/${encodeURIComponent(card.file)}`} aria-label={`${say("documents")} ${card.title}`}>
              {say("documents")}
            </a>
          )}
          {card.undo && (
            <button type="button" class="plain" aria-label={`${say(card.undo)} ${card.title}`} onClick={() => ask({ kind: "undo", room: card.file })}>
              {say(card.undo)}
            </button>
          )}
        </div>
        <Command text={card.svg ? card.commands.live : card.commands.check} />
      </footer>
    </li>
  );
}

export function Cards({ cards }) {
  return (
    <>
      <header class="top">
        <div>
          <p class="kicker">{say("rooms")}</p>
          <h1>{folder}</h1>
        </div>
        <a class="act" href="#/new">
          {say("new room")}
        </a>
      </header>
      {cards && !cards.length && (
        <section class="empty">
          <h2>{say("empty")}</h2>
          <p>{say("empty, text")}</p>
          <a class="act" href="#/new">
            {say("new room")}
          </a>
        </section>
      )}
      <ul class="cards">{cards?.map((card) => <Card key={card.file} card={card} />)}</ul>
    </>
  );
}
