// A question in the words and the language of the page, where confirm() would ask in those of the browser.

import { el } from "./dom.js";
import { say } from "./words.js";

/** ask asks a question and gives whether it was answered with the key named yes; Escape, and the other key, leave all as it is. */
export function ask(text, yes) {
  return new Promise((done) => {
    const answer = (value) => () => box.close(value);
    const box = el("dialog", { class: "ask", "aria-labelledby": "ask-what" }, el("p", { id: "ask-what" }, text),
      el("div", { class: "keys" }, el("button", { type: "button", class: "key", autofocus: true, onclick: answer("") }, say("leaveIt")),
        el("button", { type: "button", class: "key danger", "data-yes": true, onclick: answer("yes") }, yes)));
    box.addEventListener("close", () => {
      box.remove();
      done(box.returnValue === "yes");
    });
    document.body.append(box);
    box.showModal();
  });
}
