// The line to the server on this machine. Everything that is shown came over it as text.
const listeners = new Set();
const waiting = new Map();
let socket;
let seq = 0;
let tries = 0;

export const hear = (listener) => (listeners.add(listener), () => listeners.delete(listener));
const spread = (message) => listeners.forEach((listener) => listener(message));

export function connect() {
  const address = new URL("talk", location.href.split("#")[0]);
  address.protocol = "ws:";
  socket = new WebSocket(address);
  socket.addEventListener("open", () => {
    tries = 0;
    spread({ kind: "line", up: true });
  });
  socket.addEventListener("message", ({ data }) => {
    const message = JSON.parse(data);
    const answered = waiting.get(message.seq);
    waiting.delete(message.seq);
    if (answered) answered(message);
    else spread(message);
  });
  socket.addEventListener("close", () => {
    tries += 1;
    for (const answered of waiting.values()) answered({ kind: "gone" });
    waiting.clear();
    spread({ kind: "line", up: false });
    setTimeout(connect, Math.min(4000, 300 * tries));
  });
}

// The answer to a message.
export const ask = (message) =>
  new Promise((answered) => {
    if (socket?.readyState !== WebSocket.OPEN) return answered({ kind: "gone" });
    seq += 1;
    waiting.set(seq, answered);
    socket.send(JSON.stringify({ ...message, seq }));
  });
