// What is typed into a form and not yet saved is kept in this window: it stands there again after a reload, after going
// back, after a broken line. It is kept for the person to whom the form was shown and for the page's own address, never
// a password, a code or a file, and is forgotten when the program says that the form was saved, and at signing out.
//
// Contract: every form that the shop's pages send carries a hidden field form_key ("random.person.code"; data-again when
// the page was drawn for an answer and shows what was typed by itself) and form_page (see web/page/stamp.go). A form filled in
// by the server from what it kept has data-refilled. The cookie form_saved, over TLS __Host-form_saved, names the key of the
// form that was saved last.
// A form with data-self-kept is kept and sent by its own script.
const prefix = "ledgerwheel form ";
const restMs = 250;
const keyOf = (form) => form.elements.namedItem("form_key")?.value ?? "";
const personOf = (key) => key.split(".")[1] ?? "";

export function startKeep(root) {
  const forms = [...root.querySelectorAll("form")].filter((form) => keyOf(form) !== "" && form.dataset.selfKept === undefined);
  forgetSaved();
  root.querySelector('form[action="/sign-out"]')?.addEventListener("submit", forgetAll);
  if (forms.length === 0) return;
  forgetOthers(personOf(keyOf(forms[0])));
  const places = new Map();
  for (const form of forms) {
    const name = form.getAttribute("action") + " " + (form.dataset.testid ?? "");
    const nth = places.get(name) ?? 0;
    places.set(name, nth + 1);
    watch(form, `${prefix}${personOf(keyOf(form))} ${new URL(pageOf(form), location.href).pathname} ${name} ${nth}`);
  }
}

// pageOf is the page on which the form stands, also when it is shown again for an answer.
const pageOf = (form) => form.elements.namedItem("form_page")?.value ?? location.pathname;

function watch(form, place) {
  const drawn = holds(form, asDrawn);
  if (form.dataset.refilled === undefined && form.elements.namedItem("form_key").dataset.again === undefined) restore(form, place, drawn);
  let timer = 0;
  const keep = () => {
    clearTimeout(timer);
    timer = 0;
    const now = holds(form, asIs);
    const typed = now.filter((field, i) => !field.hidden && field.value !== drawn[i]?.value);
    if (typed.length === 0) return sessionStorage.removeItem(place);
    write(place, { key: keyOf(form), fields: now.map((field, i) => ({ ...field, drawn: drawn[i]?.value })) });
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(keep, restMs);
  });
  form.addEventListener("change", keep);
  form.addEventListener("submit", keep);
  window.addEventListener("pagehide", () => { if (timer) keep(); });
}

// holds is what the fields of a form hold, in their order: as they are, or as the page was drawn, whatever the browser has
// put there since.
function holds(form, how) {
  return [...form.elements].filter(mayKeep).map((field) => ({ name: field.name, hidden: field.type === "hidden", value: how(field) }));
}

const ticks = (field) => field.type === "checkbox" || field.type === "radio";

const asIs = (field) => (ticks(field) ? (field.checked ? "on " : "off ") + field.value : field.value);

function asDrawn(field) {
  if (ticks(field)) return (field.defaultChecked ? "on " : "off ") + field.value;
  if (field.options) return ([...field.options].find((o) => o.defaultSelected) ?? field.options[0])?.value ?? "";
  return field.defaultValue ?? field.value;
}

const ours = ["form_key", "form_page"];

function mayKeep(field) {
  return field.name && !ours.includes(field.name) && field.dataset.keep !== "no" && field.autocomplete !== "one-time-code" &&
    !["password", "file", "submit", "button", "reset", "image", "fieldset", "output"].includes(field.type);
}

// restore fills the form in as it was typed. Where the record has changed meanwhile in what the form shows, it goes out as
// the form that was typed into, so that the program finds the change and asks; else as the one drawn now.
function restore(form, place, drawn) {
  const kept = read(place);
  if (!kept) return;
  const fields = [...form.elements].filter(mayKeep);
  if (kept.fields.length !== fields.length || kept.fields.some((field, i) => field.name !== fields[i].name)) return offer(form, place, kept);
  const same = kept.fields.every((field, i) => field.hidden || field.drawn === drawn[i].value);
  let any = false;
  kept.fields.forEach((field, i) => {
    if (field.hidden ? same : field.value === drawn[i].value) return;
    set(fields[i], field.value);
    any ||= !field.hidden;
  });
  if (!any) return sessionStorage.removeItem(place);
  for (let fold = form.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  say(form, "What you typed before is here again.", () => {
    sessionStorage.removeItem(place);
    fields.forEach((field, i) => set(field, drawn[i].value));
  });
  const typed = fields.find((field, i) => field.type !== "hidden" && field.value !== drawn[i].value);
  form.dataset.restoring = ""; // is kept already: leaving the page loses nothing
  typed?.dispatchEvent(new Event("input", { bubbles: true }));
  delete form.dataset.restoring;
}

// offer shows what was typed where the form has other fields now, such as rows that were added.
function offer(form, place, kept) {
  const typed = kept.fields.filter((field) => !field.hidden && field.value !== field.drawn && !/^off /.test(field.value));
  const words = typed.map((field) => field.value.replace(/^on /, "")).filter(Boolean).join(" · ");
  if (words) say(form, "The form has changed. Before, you typed: " + words, () => sessionStorage.removeItem(place));
}

function set(field, value) {
  if (ticks(field)) field.checked = value.startsWith("on ");
  else field.value = value;
}

function say(form, words, clear) {
  const notice = document.createElement("p");
  notice.className = "kept-notice";
  notice.setAttribute("role", "status");
  notice.dataset.testid = "typed-before";
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button quiet";
  button.textContent = "Clear it";
  button.dataset.testid = "clear-typed";
  button.addEventListener("click", () => {
    clear();
    notice.remove();
    form.querySelector("input:not([type=hidden]), select, textarea")?.focus();
  });
  notice.append(words + " ", button);
  form.prepend(notice);
}

// forgetSaved drops the form that the program says is saved.
function forgetSaved() {
  const found = document.cookie.split("; ").find((c) => /^(__Host-)?form_saved=/.test(c));
  if (!found) return;
  const [name, saved] = found.split(/=(.*)/);
  for (const place of places()) if (read(place)?.key === saved) sessionStorage.removeItem(place);
  document.cookie = `${name}=; Max-Age=0; Path=/${name.startsWith("__Host-") ? "; Secure" : ""}`;
}

function forgetAll() {
  for (const place of places()) sessionStorage.removeItem(place);
}

// forgetOthers drops what somebody else typed in this window.
function forgetOthers(person) {
  for (const place of places()) if (!place.startsWith(`${prefix}${person} `)) sessionStorage.removeItem(place);
}

const places = () => Object.keys(sessionStorage).filter((place) => place.startsWith(prefix));

function read(place) {
  try {
    return JSON.parse(sessionStorage.getItem(place));
  } catch {
    return null;
  }
}

function write(place, kept) {
  try {
    sessionStorage.setItem(place, JSON.stringify(kept));
  } catch {
    // The window keeps no more: the form itself still holds what was typed.
  }
}
