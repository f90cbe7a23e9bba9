// Words of the trade explained one tap away: the first time each stands in a text it becomes a button that shows its meaning.
import { get } from "./talk.js";

const NOT_INSIDE = "a,button,h1,h2,summary,label,code,svg,select,.dose,th,.tile,.name-list,[data-plain]";

/** @param {Element | null} where */
export async function explainWords(where) {
  if (!where || !("popover" in HTMLElement.prototype)) return;
  const terms = await get("/words.json").catch(() => []);
  const meanings = new Map(terms.flatMap((term) => term.words.map((word) => [word.toLowerCase(), term.means])));
  if (!meanings.size) return;
  const longestFirst = [...meanings.keys()].sort((a, b) => b.length - a.length).map((word) => word.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
  const pattern = new RegExp(`\\b(${longestFirst.join("|")})\\b`, "i");
  const bubble = document.body.appendChild(Object.assign(document.createElement("div"), { popover: "auto", className: "meaning", id: "meaning" }));
  const done = new Set();
  const texts = document.createTreeWalker(where, NodeFilter.SHOW_TEXT);
  const found = [];
  while (texts.nextNode()) {
    const text = texts.currentNode;
    if (text.parentElement.closest(NOT_INSIDE)) continue;
    const match = pattern.exec(text.data);
    if (match && !done.has(meanings.get(match[1].toLowerCase()))) {
      done.add(meanings.get(match[1].toLowerCase()));
      found.push([text, match]);
    }
  }
  for (const [text, match] of found) {
    const rest = text.splitText(match.index);
    rest.splitText(match[1].length);
    const button = Object.assign(document.createElement("button"), { type: "button", className: "word", textContent: match[1] });
    button.setAttribute("popovertarget", "meaning");
    button.addEventListener("click", () => {
      bubble.textContent = meanings.get(match[1].toLowerCase());
    });
    rest.replaceWith(button);
  }
}
