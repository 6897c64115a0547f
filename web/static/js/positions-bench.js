// Bench is the run being typed or heard, one position at a time.
import { Draft } from "./positions-draft.js";
import { Ear } from "./positions-listen.js";
import { keep, look } from "./positions-keep.js";

const letter = /^\p{L}$/u;
const digit = /^[0-9.,+\-−]$/;

export class Bench {
  // to: tell(text, refused), turn(html, url)
  constructor(root, to) {
    this.root = root;
    this.to = to;
    this.form = root.querySelector("form");
    this.draft = new Draft(root.dataset.draft);
    this.heard = {}; // by stop: { session, take }
    this.done = []; // acts that can be taken back: { what, state }
    this.ear = new Ear(root.dataset.listen, {
      report: (r) => this.report(r),
      trouble: (text) => this.trouble(text),
      down: () => this.trouble("The line to the program is down. What is heard is held for a minute and sent when it is back."),
      ended: () => this.quiet(),
    });
    for (const name of ["undo", "hear", "clear-line"]) this.one(`[data-${name}]`).hidden = false;
    this.form.addEventListener("submit", (event) => this.pressed(event));
    this.form.addEventListener("input", (event) => this.typed(event));
    this.form.addEventListener("focusin", (event) => event.target.matches("[data-figure]") && event.target.select());
    this.one("[data-undo]").addEventListener("click", () => this.undo());
    this.one("[data-hear]").addEventListener("click", () => this.hear());
    this.one("[data-clear]").addEventListener("click", () => this.clear());
    this.asked = !("opened" in root.dataset); // sent back with something to answer
    this.takeBack();
    this.show(this.at, false);
    if (this.asked) this.refused();
    this.now = this.state();
    this.write();
  }

  one = (selector) => this.root.querySelector(selector);
  all = (selector) => [...this.root.querySelectorAll(selector)];
  field = (name) => this.form.elements.namedItem(name);

  get at() {
    return this.field("at").value;
  }

  get stop() {
    return this.one(`[data-stop="${this.at}"]`);
  }

  get figures() {
    return [...this.stop.querySelectorAll("[data-figure]")];
  }

  // state is all that is typed, where one stands, and what of it was heard.
  state() {
    const values = {};
    for (const f of this.form.elements) {
      if (f.name && f.name !== "do" && f.name !== "at") values[f.name] = f.type === "checkbox" ? f.checked : f.value;
    }
    return { at: this.at, values, heard: { ...this.heard } };
  }

  put(state) {
    for (const [name, value] of Object.entries(state.values)) {
      const f = this.field(name);
      if (f?.type === "checkbox") f.checked = value;
      else if (f) f.value = value;
    }
    this.heard = { ...state.heard };
  }

  write() {
    this.draft.write(this.now);
  }

  // takeBack puts back what was typed here before and not kept.
  takeBack() {
    const draft = this.asked ? null : this.draft.read();
    if (!draft || !this.all("[data-figure]").some((f) => (draft.values[f.name] ?? f.defaultValue) !== f.defaultValue)) return;
    this.put(draft);
    if (this.one(`[data-stop="${draft.at}"]`)) this.field("at").value = draft.at;
    this.to.tell("Typed before, not kept yet");
  }

  // act does something that can be taken back.
  act(what, does) {
    this.typing = null;
    this.done.push({ what, state: this.now });
    does();
    this.after();
  }

  after() {
    this.now = this.state();
    this.write();
    this.fill();
  }

  typed(event) {
    const f = event.target;
    if (this.typing !== f) {
      const label = f.matches("[data-figure]") ? f.closest("[data-quantity]").querySelector("label").textContent : "";
      this.done.push({ what: label && `${label} in ${this.stop.dataset.position}`, state: this.now });
      this.typing = f;
    }
    if (f.matches("[data-figure]")) {
      delete this.heard[f.closest("[data-stop]").dataset.stop]; // typed over: no recording stands behind it
      if (this.ear.listening) this.ear.stop();
      this.wrong(f, "");
    }
    this.after();
  }

  // mark and unmark forget what was typed between them: a scan that fell into a field.
  mark() {
    this.marked = { acts: this.done.length, heard: { ...this.heard } };
  }

  unmark() {
    if (this.done.length === this.marked.acts) return;
    this.done.length = this.marked.acts;
    this.heard = this.marked.heard;
    this.typing = null;
    this.after();
  }

  undo() {
    const last = this.done.pop();
    if (!last) {
      this.to.tell("Nothing to undo", true);
      return;
    }
    if (this.ear.listening) this.ear.stop();
    this.typing = null;
    this.put(last.state);
    this.show(last.state.at, true);
    this.after();
    this.to.tell(last.what ? "Undone: " + last.what : "Undone. " + this.stop.dataset.says);
  }

  clear() {
    this.act("clearing", () => {
      for (const f of this.all("[data-figure]")) f.value = f.defaultValue;
      this.heard = {};
    });
    this.to.tell("Cleared. Undo brings it back");
  }

  // show brings a stop into sight and gives its first empty figure the keyboard.
  show(key, say = true) {
    if (key !== this.at && this.ear.listening) this.listenOn = true;
    this.field("at").value = key;
    for (const stop of this.all("[data-stop]")) stop.hidden = stop.dataset.stop !== key;
    const { state, position } = this.stop.dataset;
    for (const b of this.all("[data-state-to]")) b.setAttribute("aria-pressed", String(b.dataset.stateTo === state));
    for (const b of this.all("[data-position-to]")) {
      if (b.dataset.positionTo === position) b.setAttribute("aria-current", "step");
      else b.removeAttribute("aria-current");
    }
    for (const [name, chief] of [["[data-step='1']", Boolean(position)], ["[data-keep]", !position]]) {
      this.one(name).classList.toggle("chief", chief);
      this.one(name).classList.toggle("plain", !chief);
    }
    this.fill();
    this.present()?.focus({ preventScroll: true });
    if (say) this.to.tell(position ? this.stop.dataset.says : this.measured());
  }

  // present is where what is typed goes: the figure with the keyboard, else the first empty one.
  present() {
    if (!this.stop.dataset.position) return this.one("[data-keep]");
    if (this.figures.includes(document.activeElement)) return document.activeElement;
    const tick = this.stop.querySelector("[type=checkbox]:not(:checked)");
    return tick ?? this.figures.find((f) => f.getAttribute("aria-invalid")) ?? this.figures.find((f) => !f.value) ?? this.figures[0];
  }

  measured() {
    const state = this.stop.dataset.state;
    const done = this.all(`[data-state="${state}"][data-position]`).filter((stop) => stop.querySelector("[data-figure]").value);
    return done.length === 6 ? "Six positions done: keep" : `${done.length} of 6 positions measured`;
  }

  // fill writes what is typed where it is shown again: on the buttons of the positions, and in the list at the end.
  fill() {
    const state = this.stop.dataset.state;
    for (const b of this.all("[data-position-to]")) {
      const at = b.dataset.positionTo + "-" + state;
      b.querySelector("[data-rate]").textContent = this.field("rate-" + at)?.value ?? "";
      const wrong = this.one(`[data-stop="${at}"] .error`) !== null;
      b.classList.toggle("wrong", wrong);
      b.querySelector("[data-look-again]").hidden = !wrong;
    }
    for (const cell of this.all("[data-cell]")) cell.textContent = this.field(cell.dataset.cell).value;
  }

  pressed(event) {
    event.preventDefault();
    const button = event.submitter;
    if (!button || button.dataset.step || button.matches(".aside")) this.step(Number(button?.dataset.step ?? 1));
    else if (button.matches("[data-keep]")) this.keep();
    else if (button.dataset.stateTo !== undefined) this.go("CH-" + button.dataset.stateTo);
    else this.go(button.dataset.positionTo + "-" + this.stop.dataset.state);
  }

  step(by) {
    const all = this.all(`[data-stop][data-state="${this.stop.dataset.state}"]`);
    const next = all[all.indexOf(this.stop) + by];
    if (next) this.go(next.dataset.stop);
    else this.to.tell(by < 0 ? "This is the first position" : "All positions passed: keep", true);
  }

  go(key) {
    const left = this.at;
    this.act("", () => this.show(key, !this.ear.listening || key.startsWith("end"))); // listening says where by itself
    if (this.listenOn) {
      this.listenOn = false;
      if (this.stop.dataset.position) this.listen();
      else this.ear.stop();
    }
    look(this, left);
  }

  // key acts on what is typed anywhere in the page.
  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    const on = event.target;
    if (event.key === "PageDown" || event.key === "PageUp") {
      event.preventDefault();
      if (!event.repeat) this.step(event.key === "PageDown" ? 1 : -1);
      return;
    }
    if (on.matches("[data-figure]")) {
      this.figureKey(event);
      return;
    }
    const typing = on.matches("textarea, select, input:not([type=checkbox], [type=radio])");
    if (typing || !digit.test(event.key) || !this.stop.dataset.position) return;
    const figure = this.figures.find((f) => f.getAttribute("aria-invalid")) ?? this.figures.find((f) => !f.value) ?? this.figures[0];
    figure.focus(); // the character goes there
  }

  figureKey(event) {
    if (letter.test(event.key)) event.preventDefault(); // no figure has one, and a scan has
    const by = { Enter: event.shiftKey ? -1 : 1, ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!by) return;
    event.preventDefault();
    const next = this.figures[this.figures.indexOf(event.target) + by];
    if (next) next.focus();
    else if (event.key === "Enter") this.step(by);
  }

  // answers says yes to what is asked here, when keep is scanned, and reports whether anything was.
  answers(word) {
    if (word !== this.one("[data-keep]").dataset.scan || !this.stop.dataset.position) return false;
    const open = [...this.stop.querySelectorAll("[type=checkbox]:not(:checked)")];
    if (open.length === 0) return false;
    this.act("answer", () => open.forEach((tick) => { tick.checked = true; }));
    if (this.asked) this.keep();
    else this.to.tell("Yes, it is so");
    return true;
  }

  refused() {
    this.to.tell(this.stop.querySelector("[type=checkbox]:not(:checked)") ? "Is it so? Look" : "Not kept: look", true);
  }

  async keep() {
    if (this.keeping) return;
    this.keeping = true;
    if (this.ear.listening) this.ear.stop();
    this.trouble("");
    this.one("[data-keep]").setAttribute("aria-busy", "true");
    try {
      await keep(this);
    } finally {
      this.keeping = false;
      this.one("[data-keep]")?.removeAttribute("aria-busy");
    }
  }

  hear() {
    if (this.ear.listening) this.ear.stop();
    else if (this.stop.dataset.position) {
      this.done.push({ what: "listening", state: this.now });
      this.listen();
    } else this.to.tell("Choose a position first", true);
  }

  // listen begins to listen in the position in sight.
  listen() {
    this.trouble("");
    this.decided = false;
    this.hearingAt = this.at;
    const fields = { position: this.stop.dataset.position, hours: this.stop.dataset.state, run: this.root.dataset.run };
    for (const name of ["mode", "recorder", "settle", "most", "beats_per_hour", "lift_angle"]) fields[name] = this.field(name).value;
    this.one("[data-hear]").setAttribute("aria-pressed", "true");
    this.one("[data-hear]").textContent = "Stop";
    this.one("[data-ear]").hidden = false;
    this.ear.start(fields);
    this.to.tell("Listening, " + this.stop.dataset.says);
  }

  quiet() {
    this.one("[data-hear]").setAttribute("aria-pressed", "false");
    this.one("[data-hear]").textContent = "Listen";
    this.one("[data-ear]").hidden = true;
  }

  report(r) {
    const ear = this.one("[data-ear]");
    const words = { settling: `settles, ${Math.ceil(r.left_s)} s`, over: "over" }[r.phase] ??
      (r.watch ? `heard for ${Math.floor(r.heard_s)} s` : `no watch heard yet, ${Math.floor(r.heard_s)} s`);
    if (ear.textContent !== words) ear.textContent = words;
    if (!r.figures || this.at !== this.hearingAt || r.phase === "settling") return;
    for (const f of this.figures) {
      const figure = r.figures[f.closest("[data-quantity]").dataset.quantity];
      f.value = figure ? figure.value : "";
      f.closest("[data-quantity]").querySelector("[data-u]").textContent = figure?.u ? "± " + figure.u : "";
    }
    this.heard[this.at] = { session: this.ear.session, take: r.take };
    this.after();
    if (r.phase === "decided" && !this.decided) {
      this.decided = true;
      this.to.tell("Good enough: next position");
    }
  }

  trouble(text) {
    this.one("[data-trouble]").hidden = !text;
    this.one("[data-trouble-text]").textContent = text;
    if (text) this.to.tell("Look at the page", true);
  }

  // wrong writes what the program says of a figure, as it says it.
  wrong(figure, html) {
    this.one(`[data-wrong="${figure.name}"]`).innerHTML = html;
    if (html.includes("error")) figure.setAttribute("aria-invalid", "true");
    else figure.removeAttribute("aria-invalid");
  }

  leave() {
    if (this.ear.listening) this.ear.stop();
    this.ear.hangUp();
  }
}
