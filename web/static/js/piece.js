// Contract: [data-piece], within a form, is a piece of the page that its buttons [data-piece-button] ask the server
// for again: the form is sent as it would be anyway, and of the page that answers only the piece with the same id is
// put in place. What was typed meanwhile stays. The keyboard goes to what has autofocus in the answer, and
// data-piece-address is where a reload finds the same choices. Without scripts, or when the answer has no such piece
// (a session that ended), the form is sent and the whole page follows.
//
// [data-find="id"] is a field whose answers stand in the element with that id. When it is left, or Enter is pressed in
// it, and the answer holds [data-fills="field"], what was typed moves into that field. In another field of the piece's
// form Enter leads to the next one, for nothing is saved by it.
import { ask, startSuggest } from "./suggest.js";

export function startPieces(root) {
  for (const piece of root.querySelectorAll("[data-piece]")) {
    const form = piece.closest("form");
    form.addEventListener("submit", (event) => submitted(event, form));
    startFind(piece);
  }
}

async function submitted(event, form) {
  const button = event.submitter;
  if (!button?.matches("[data-piece-button]") || button.dataset.whole) return;
  event.preventDefault();
  const find = form.querySelector("[data-find]");
  if (find && button.name === "do" && find.value.trim() === "") {
    if (document.activeElement !== button) goOn(form, document.activeElement);
    return;
  }
  if (find && button.name === "do" && await moved(find)) return;
  await replace(form, button);
}

// goOn gives the keyboard to the next field that can be seen.
function goOn(form, from) {
  const fields = [...form.elements].filter((e) => e.matches("input:not([type=hidden]), select, textarea") && e.checkVisibility());
  fields[fields.indexOf(from) + 1]?.focus();
}

async function replace(form, button) {
  const sent = new FormData(form, button);
  let page = null;
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(sent), headers: { Accept: "text/html" } });
    if (answer.ok && !answer.redirected) page = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    // The line is down: the browser says so when the form is sent.
  }
  const piece = form.querySelector("[data-piece]");
  const fresh = page?.getElementById(piece.id);
  if (!fresh) {
    button.dataset.whole = "yes";
    form.requestSubmit(button);
    return;
  }
  const next = page.querySelector("form [autofocus]")?.id;
  const typed = [...piece.querySelectorAll("input, textarea, select")].filter((e) => e.name && e.type !== "hidden" &&
    e.type !== "radio" && e.value !== sent.get(e.name));
  piece.replaceWith(fresh);
  for (const e of typed) {
    const now = form.elements.namedItem(e.name);
    if (now) now.value = e.value;
  }
  startSuggest(fresh);
  startFind(fresh);
  history.replaceState(history.state, "", fresh.dataset.pieceAddress);
  if (next) document.getElementById(next)?.focus();
}

function startFind(piece) {
  const find = piece.querySelector("[data-find]");
  find?.addEventListener("change", () => moved(find));
}

const moving = new Map(); // Enter leaves the field and sends the form at once: both wait for one answer

function moved(find) {
  if (!moving.has(find)) moving.set(find, move(find).finally(() => moving.delete(find)));
  return moving.get(find);
}

// move puts what the record knows nothing of into its own field, and reports whether it did.
async function move(find) {
  const typed = find.value.trim();
  if (typed === "") return false;
  const into = document.getElementById(find.dataset.find);
  await ask(find, into);
  const field = find.form.elements.namedItem(into.querySelector("[data-fills]")?.dataset.fills ?? "");
  if (!field || field.value !== "" || find.value.trim() !== typed) return false;
  const here = document.activeElement;
  field.value = typed;
  find.value = "";
  field.closest("details")?.setAttribute("open", "");
  field.dispatchEvent(new Event("input", { bubbles: true }));
  if (here === find || here.matches("[data-piece-button], body")) next(find.form, field).focus();
  return true;
}

// next is the first of name, telephone and maker that is still empty, for that is what is asked next.
function next(form, filled) {
  const order = filled.name === "serial" ? ["maker", "name"] : ["name", "phone", "maker"];
  const empty = order.map((name) => form.elements.namedItem(name)).find((e) => e && e.value === "");
  return empty ?? form.elements.namedItem("complaint");
}
