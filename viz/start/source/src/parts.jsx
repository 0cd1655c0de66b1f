// What every view is made of. No text of its own: `say` gives what Python sent.
const given = JSON.parse(document.querySelector("#given").textContent);
export const { folder, aims } = given;
export const say = (name) => given.words[name];

export const Plan = ({ svg, className = "plan" }) => (
  <div class={className} dangerouslySetInnerHTML={{ __html: svg.slice(svg.indexOf("<svg")).replace("<svg", '<svg role="img" ') }} />
);

export const Command = ({ text }) => (
  <code class="command" title={say("command")}>
    <span class="unseen">{say("command")}: </span>
    {text}
  </code>
);

export const Verdict = ({ look, word }) => (
  <p class="verdict" data-look={look}>
    <i class="sign" aria-hidden="true" />
    {word}
  </p>
);

export const Back = () => (
  <a class="back" href="#/">
    <span aria-hidden="true">←</span> {say("back")}
  </a>
);

// The heading of a view takes the focus when it is opened, so that keys and readers start there.
export const Heading = ({ children }) => (
  <h1 tabIndex={-1} ref={(node) => node && !node.dataset.met && ((node.dataset.met = "yes"), node.focus({ preventScroll: true }))}>
    {children}
  </h1>
);
