import { useEffect, useState } from "preact/hooks";
import { ask, hear } from "./line.js";
import { Back, Command, Heading, Plan, Verdict, aims, say } from "./parts.jsx";

// The arrows move along the tabs; Enter or a click takes one.
function Tabs({ chosen, take, busy }) {
  const along = (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!step) return;
    const tabs = [...event.currentTarget.querySelectorAll("[role=tab]")];
    const next = (tabs.indexOf(document.activeElement) + step + tabs.length) % tabs.length;
    tabs[next].focus();
    event.preventDefault();
  };
  return (
    <div class="tabs" role="tablist" aria-label={say("aims")} onKeyDown={along}>
      {aims.map(([aim, label, what]) => (
        <button
          key={aim}
          type="button"
          role="tab"
          id={`aim-${aim}`}
          aria-controls="found"
          aria-selected={aim === chosen ? "true" : "false"}
          tabIndex={aim === chosen ? 0 : -1}
          title={what}
          disabled={busy}
          onClick={() => take(aim)}
        >
          {label}
        </button>
      ))}
    </div>
  );
}

function Table({ table }) {
  return (
    <table>
      <thead>
        <tr>
          {table.head.map((text) => (
            <th key={text} scope="col">
              {text}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {table.rows.map(([first, ...rest]) => (
          <tr key={first}>
            <th scope="row">{first}</th>
            {rest.map((text, at) => (
              <td key={at}>{text}</td>
            ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const Lines = ({ text }) => (
  <pre class="lines" tabIndex={0} aria-label={say("lines")}>
    {text.split("\n").map((line, at) => (
      <span key={at} class={{ "+": "new", "-": "old" }[line[0]] ?? ""}>
        {`${line}\n`}
      </span>
    ))}
  </pre>
);

export function Place({ card }) {
  const [aim, setAim] = useState("");
  const [found, setFound] = useState({});
  const [progress, setProgress] = useState(null);
  const [said, setSaid] = useState("");
  const room = card.file;
  useEffect(
    () =>
      hear((message) => {
        if (message.kind === "line" && !message.up) setProgress(null);
        if (message.room !== room) return;
        if (message.kind === "progress") setProgress(message.text);
        if (message.kind === "placement") {
          setProgress(null);
          setFound((old) => ({ ...old, [message.aim]: message }));
        }
        if (message.kind === "refused") (setProgress(null), setSaid(message.why));
        if (message.kind === "stopped") (setProgress(null), setSaid(say("stopped")));
      }),
    [room],
  );
  const tell = (answer) => setSaid(answer.said ?? answer.why ?? say("gone"));
  const search = async (wanted) => {
    setAim(wanted);
    setSaid("");
    if (found[wanted]) return;
    setProgress(say("searching"));
    const answer = await ask({ kind: "place", room, aim: wanted });
    if (answer.kind !== "begun") (setProgress(null), tell(answer));
  };
  const write = async () => {
    const answer = await ask({ kind: "write", room, aim });
    tell(answer);
    if (answer.kind === "written") setFound({});
  };
  const undo = async () => {
    tell(await ask({ kind: "undo", room }));
    setFound({});
  };
  const busy = progress !== null;
  const one = found[aim];
  const shown = one?.proposed ?? one?.current ?? card;
  return (
    <>
      <Back />
      <Heading>{card.title}</Heading>
      <p class="quiet lead">{card.about ?? card.mistakes}</p>
      <div class="beside wide">
        <figure class={`drawing ${busy ? "stale" : ""}`}>
          {one && <Tabs chosen={aim} take={search} busy={busy} />}
          {shown.svg && <Plan svg={shown.svg} />}
          <figcaption>{one?.proposed ? say("proposed") : say("current")}</figcaption>
        </figure>
        <section id="found" role={one ? "tabpanel" : undefined} aria-labelledby={one ? `aim-${aim}` : undefined} class="found">
          <Verdict look={shown.look} word={shown.word} />
          {one?.beside && <p class="counts strong">{one.beside}</p>}
          {!one && <p class="counts strong">{card.counts}</p>}
          <ul class="said">
            {(one ? [...shown.sentences, ...one.sentences] : (card.sentences ?? [])).map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
          {one?.remedies.length > 0 && (
            <>
              <h2>{say("remedies")}</h2>
              <ul class="said listed">
                {one.remedies.map((text) => (
                  <li key={text}>{text}</li>
                ))}
              </ul>
            </>
          )}
          {shown.open && <p class="open">{shown.open}</p>}
          <p class="progress" role="status">
            {busy && <i class="turning" aria-hidden="true" />}
            {progress ?? said}
          </p>
          {one?.refused && !busy && <p class="wrong">{one.refused}</p>}
          {one?.same && !busy && <p class="open">{one.same}</p>}
          <div class="acts">
            {busy ? (
              <button type="button" class="plain" onClick={() => ask({ kind: "stop" })}>
                {say("stop")}
              </button>
            ) : one ? (
              one.lines && (
                <button type="button" class="act" onClick={write}>
                  {say("write")}
                </button>
              )
            ) : (
              <button type="button" class="act" disabled={!card.svg} onClick={() => search(aim)}>
                {say("find")}
              </button>
            )}
            {card.undo && !busy && (
              <button type="button" class="plain" onClick={undo}>
                {say(card.undo)}
              </button>
            )}
            {card.svg && (
              <a class="plain" href={card.href}>
                {say("open room")}
              </a>
            )}
            {card.counts && !busy && !one && (
              <a class="plain" href={`#/documents/${encodeURIComponent(room)}`}>
                {say("to documents")}
              </a>
            )}
          </div>
          <Command text={one?.command ?? card.commands.place} />
          {one?.lines && <Lines text={one.lines} />}
        </section>
      </div>
      {one && (
        <details class="all">
          <summary>{say("details")}</summary>
          <Table table={one.table} />
        </details>
      )}
    </>
  );
}
