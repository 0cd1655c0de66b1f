import { render } from "preact";
import { useEffect, useState } from "preact/hooks";
import { Cards } from "./cards.jsx";
import { Documents } from "./documents.jsx";
import { connect, hear } from "./line.js";
import { New } from "./new.jsx";
import { say } from "./parts.jsx";
import { Place } from "./place.jsx";

const VIEWS = { new: New, place: Place, documents: Documents };

const where = () => {
  const [, view = "", ...rest] = location.hash.split("/");
  return { view, room: decodeURIComponent(rest.join("/")) };
};

function Page() {
  const [at, go] = useState(where);
  const [cards, setCards] = useState(null);
  const [up, setUp] = useState(true);
  useEffect(() => {
    const moved = () => go(where());
    addEventListener("hashchange", moved);
    const stop = hear((message) => {
      if (message.kind === "line") setUp(message.up);
      if (message.kind === "folder") setCards(message.cards);
      if (message.kind === "card")
        setCards((now) => now?.map((card) => (card.file === message.card.file ? message.card : card)));
    });
    connect();
    return () => (removeEventListener("hashchange", moved), stop());
  }, []);
  const View = VIEWS[at.view] ?? Cards;
  const card = cards?.find(({ file }) => file === at.room);
  return (
    <>
      <p class="gone" role="alert" hidden={up}>
        {say("gone")}
      </p>
      <main>
        {View === Cards || View === New || (card && card.look !== "waiting") ? <View key={at.view + at.room} cards={cards} card={card} /> : <Cards cards={cards} />}
      </main>
    </>
  );
}

render(<Page />, document.querySelector("#page"));
