import { useEffect, useRef, useState } from "preact/hooks";
import { ask } from "./line.js";
import { Back, Command, Heading, Plan, say } from "./parts.jsx";

const KEPT = "overtable-new";
const kept = () => {
  try {
    return JSON.parse(sessionStorage.getItem(KEPT)) ?? {};
  } catch {
    return {};
  }
};

// The newest answers are asked about once the question before is answered.
function useForm(answers) {
  const [form, setForm] = useState(null);
  const state = useRef({ busy: false, next: null });
  useEffect(() => {
    sessionStorage.setItem(KEPT, JSON.stringify(answers));
    const run = async (wanted) => {
      const now = state.current;
      if (now.busy) return void (now.next = wanted);
      now.busy = true;
      const answer = await ask({ kind: "form", answers: wanted });
      now.busy = false;
      if (answer.kind === "form") setForm((old) => ({ ...answer, svg: answer.svg ?? old?.svg, stale: !answer.svg }));
      else if (answer.kind === "gone") now.next ??= (await new Promise((again) => setTimeout(again, 500)), wanted);
      const next = now.next;
      now.next = null;
      if (next) run(next);
    };
    run(answers);
  }, [answers]);
  return form;
}

function Field({ field, value, wrong, choices, set }) {
  const id = `field-${field.name}`;
  const common = {
    id,
    "aria-describedby": wrong ? `${id}-wrong` : `${id}-hint`,
    "aria-invalid": wrong ? "true" : undefined,
    onInput: (event) => set(field.name, event.currentTarget.value),
  };
  return (
    <div class={`field ${field.name}`}>
      <label for={id}>{field.label}</label>
      {choices ? (
        <select {...common} value={value}>
          {choices.map(([answer, text]) => (
            <option key={answer} value={answer} selected={answer === value}>
              {text}
            </option>
          ))}
        </select>
      ) : (
        <input type="text" autocomplete="off" spellcheck={false} {...common} value={value} />
      )}
      {wrong ? (
        <p class="wrong" id={`${id}-wrong`}>
          {wrong}
        </p>
      ) : (
        <p class="hint" id={`${id}-hint`}>
          {field.hint}
        </p>
      )}
    </div>
  );
}

export function New() {
  const [answers, setAnswers] = useState(kept);
  const [refused, setRefused] = useState("");
  const form = useForm(answers);
  const set = (name, value) => setAnswers((now) => ({ ...now, [name]: value }));
  const create = async (event) => {
    event.preventDefault();
    const answer = await ask({ kind: "create", answers });
    if (answer.kind === "created") {
      sessionStorage.removeItem(KEPT);
      location.hash = `#/place/${encodeURIComponent(answer.file)}`;
    } else {
      setRefused(answer.why ?? say("gone"));
      document.querySelector("[aria-invalid=true]")?.focus();
    }
  };
  return (
    <>
      <Back />
      <Heading>{say("new room")}</Heading>
      <p class="quiet lead">{say("new room, text")}</p>
      {form && (
        <div class="beside">
          <form onSubmit={create} noValidate>
            {form.fields.map((field) => (
              <Field
                key={field.name}
                field={field}
                value={answers[field.name] ?? form.values[field.name]}
                wrong={form.wrong[field.name]}
                choices={form.choices[field.name]}
                set={set}
              />
            ))}
            <div class="send">
              <button class="act" type="submit">
                {say("create")}
              </button>
              <p class="wrong" role="alert">
                {refused}
              </p>
            </div>
            <Command text={form.command} />
          </form>
          <figure class={`drawing ${form.stale ? "stale" : ""}`} aria-label={say("plan of answers")}>
            {form.svg && <Plan svg={form.svg} />}
            <figcaption>
              <p role="status">{form.about}</p>
            </figcaption>
          </figure>
        </div>
      )}
    </>
  );
}
