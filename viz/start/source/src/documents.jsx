import { useEffect, useState } from "preact/hooks";
import { ask, hear } from "./line.js";
import { Back, Command, Heading, say } from "./parts.jsx";

function Item({ item, chosen, choose, making }) {
  const id = `document-${item.name}`;
  return (
    <li class="document" data-state={item.state}>
      <input id={id} type="checkbox" checked={chosen} onChange={(event) => choose(item.name, event.currentTarget.checked)} aria-describedby={`${id}-what`} />
      <div>
        <label for={id}>{item.label}</label>
        <p class="hint" id={`${id}-what`}>
          {item.what}
        </p>
        <Command text={item.command} />
        {item.files.length > 0 && (
          <ul class="files">
            {item.files.map((file) => (
              <li key={file.href}>
                <a href={file.href} target="_blank" rel="noopener">
                  {file.name}
                </a>
                <a class="down" href={`${file.href}?download`} download={file.name} aria-label={`${say("download")} ${file.name}`}>
                  <span aria-hidden="true">↓</span>
                </a>
              </li>
            ))}
          </ul>
        )}
      </div>
      <p class="state">
        {making ? (
          <>
            <i class="turning" aria-hidden="true" />
            {say("making")}
          </>
        ) : (
          item.standing
        )}
      </p>
    </li>
  );
}

export function Documents({ card }) {
  const room = card.file;
  const [told, setTold] = useState(null);
  const [chosen, setChosen] = useState({ sheets: true, report: true });
  const [paper, setPaper] = useState("");
  const [making, setMaking] = useState(null);
  const [said, setSaid] = useState({ said: "" });
  useEffect(
    () =>
      hear((message) => {
        if (message.kind === "line" && !message.up) setMaking(null);
        if (message.room !== room) return;
        if (message.kind === "documents") setTold(message);
        if (message.kind === "making") setMaking(message.what);
        if (message.kind === "made") (setMaking(null), setSaid(message));
      }),
    [room],
  );
  // asked again whenever the room's card comes anew: its files may have changed
  useEffect(() => {
    ask({ kind: "documents", room, paper }).then((answer) => answer.kind === "documents" && setTold(answer));
  }, [card, paper]);
  const make = async (event) => {
    event.preventDefault();
    setSaid({ said: "" });
    const what = Object.keys(chosen).filter((name) => chosen[name]);
    const answer = await ask({ kind: "make", room, paper, what });
    if (answer.kind !== "begun") setSaid({ said: answer.why ?? say("gone"), failed: true });
  };
  return (
    <>
      <Back />
      <Heading>{card.title}</Heading>
      <p class="quiet lead">{card.about}</p>
      {told && (
        <form class="making" onSubmit={make}>
          <fieldset>
            <legend>{say("choose")}</legend>
            <ul class="documents">
              {told.items.map((item) => (
                <Item
                  key={item.name}
                  item={item}
                  chosen={chosen[item.name] ?? false}
                  choose={(name, on) => setChosen((now) => ({ ...now, [name]: on }))}
                  making={making === item.name}
                />
              ))}
            </ul>
          </fieldset>
          <div class="side">
            <label for="paper">{say("paper")}</label>
            <select id="paper" value={paper} onInput={(event) => setPaper(event.currentTarget.value)}>
              {told.papers.map(([name, text]) => (
                <option key={name} value={name}>
                  {text}
                </option>
              ))}
            </select>
            <div class="acts">
              {making ? (
                <button type="button" class="plain" onClick={() => ask({ kind: "stop" })}>
                  {say("stop")}
                </button>
              ) : (
                <button type="submit" class="act">
                  {say("make")}
                </button>
              )}
              <a class="plain" href={`#/place/${encodeURIComponent(room)}`}>
                {say("place")}
              </a>
            </div>
            <p class={said.failed ? "wrong" : "progress"} role="status">
              {said.said}
            </p>
          </div>
        </form>
      )}
    </>
  );
}
