// Keeping what was heard: the list of positions, and its form, which is sent in the background so that listening goes on.
// Where the program refuses, the form is sent again as a page, which shows why.

// startKeeping wires the forms; on: trouble(text), next(position).
export function startKeeping(root, on) {
  const form = root.querySelector("[data-keep]");
  form?.addEventListener("submit", (event) => {
    const running = root.querySelector('[data-state="running"] [name="take"]');
    const goesOn = running !== null && !running.checked; // another position is listened to, and was not kept
    send(event, form, (answer) => kept(root, form, answer, goesOn ? () => {} : on.next), on);
  });
  const clock = root.querySelector("[data-clock]");
  clock?.addEventListener("submit", (event) => send(event, clock, (answer) => {
    clock.querySelector("[data-clock-kept]").textContent = answer.said;
  }, on));
}

async function send(event, form, done, on) {
  event.preventDefault();
  on.trouble("");
  const button = form.querySelector("button");
  button.disabled = true;
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)), headers: { Accept: "application/json" } });
    const json = answer.headers.get("Content-Type")?.startsWith("application/json");
    const said = json ? await answer.json() : {};
    if (answer.ok && json && !said.ask) done(said);
    else if (json) on.trouble(said.problem);
    else form.submit(); // somebody was quicker, or signed out meanwhile: a page says so
    if (json) ask(form, said.ask);
  } catch {
    on.trouble("The program can't be reached. Nothing was kept; try again when the line is back.");
  } finally {
    // Where there is a list, the next report says whether anything in it is left to keep.
    if (!form.matches("[data-keep]")) button.disabled = false;
    else button.disabled = form.elements.namedItem("take") === null;
  }
}

// ask shows the question that must be answered before anything is kept, and takes an answered one away again.
function ask(form, name) {
  for (const part of form.querySelectorAll("[data-ask]")) {
    part.hidden = part.dataset.ask !== name;
    if (part.hidden) part.querySelector("input").checked = false;
    else part.querySelector("input").focus();
  }
}

function kept(root, form, answer, next) {
  form.querySelector('[name="version"]').value = answer.version;
  const run = form.querySelector('[name="run"]');
  if (![...run.options].some((o) => o.value === answer.run)) run.prepend(new Option(answer.run_title, answer.run));
  run.value = answer.run;
  const said = form.querySelector("[data-kept]");
  const link = document.createElement("a");
  link.href = answer.href;
  link.textContent = "See the run";
  said.replaceChildren(answer.said + " ", link);
  next(answer.next);
}

// drawTakes fills the ledger: the line of a position has the newest of what was heard there; what was heard there before,
// in another state of wind, is listed below. What is not kept yet is ticked, and stays as the person left it.
export function drawTakes(root, takes, hearing) {
  const keeping = root.querySelector("[data-keep]") !== null;
  const newest = new Map(takes.map((t) => [t.position, t]));
  for (const line of root.querySelectorAll("[data-line]")) fill(root, line, newest.get(line.dataset.line), line.dataset.line === hearing, keeping);
  const list = root.querySelector("[data-takes]");
  const seen = new Map([...list.children].map((li) => [li.dataset.take, li]));
  list.replaceChildren(...takes.filter((t) => newest.get(t.position) !== t).map((t) => other(seen.get(String(t.number)), t, keeping)));
  const button = root.querySelector("[data-keep-button]");
  if (button) button.disabled = !takes.some((t) => !t.kept);
}

const stateOf = (t) => (t.kept ? "kept" : t.running ? "running" : "heard");

// fill writes a line only where it changed, so that a tick is not lost under the hand.
function fill(root, line, t, hearing, keeping) {
  const state = t ? stateOf(t) : "";
  const drawn = JSON.stringify([t && [t.number, t.mark, t.figures], state, hearing]);
  if (line.dataset.drawn === drawn) return;
  line.dataset.drawn = drawn;
  for (const name of ["rate", "amplitude", "beat_error"]) {
    const f = t?.figures?.[name];
    const cell = line.querySelector(`[data-cell="${name}"]`);
    const value = document.createElement("span");
    value.textContent = f ? f.value : t ? "–" : "";
    const u = document.createElement("span");
    u.className = "quiet";
    u.textContent = f?.u ? " ± " + f.u : "";
    cell.replaceChildren(value, u);
  }
  const cell = line.querySelector('[data-cell="state"]');
  const was = line.dataset.take === String(t?.number ?? "") ? cell.querySelector("input") : null;
  line.dataset.take = String(t?.number ?? "");
  line.dataset.state = state;
  const parts = [];
  if (t && keeping && !t.kept) parts.push(tick(t, was));
  if (t && !t.running) parts.push(lozenge(root, t.mark));
  const word = t?.kept ? "kept" : hearing ? "hearing" : "";
  cell.replaceChildren(...parts, word);
}

function tick(t, was) {
  const label = document.createElement("label");
  const box = document.createElement("input");
  Object.assign(box, { type: "checkbox", name: "take", value: String(t.number), checked: was ? was.checked : true });
  box.setAttribute("form", "live-keep");
  const said = document.createElement("span");
  said.className = "aside";
  said.textContent = `keep ${t.position}, ${t.state}`;
  label.append(box, said);
  return label;
}

function lozenge(root, mark) {
  const all = root.querySelector("[data-marks]").content;
  return (all.querySelector(".lozenge." + mark) ?? all.querySelector(".lozenge.undecided")).cloneNode(true);
}

function other(li, t, keeping) {
  if (li && li.dataset.state === stateOf(t)) return li;
  const was = li?.querySelector("input");
  li = document.createElement("li");
  Object.assign(li.dataset, { take: String(t.number), state: stateOf(t) });
  if (keeping && !t.kept) li.append(tick(t, was));
  li.append(`${t.position} ${t.words}, ${t.state}: ${t.text}${t.kept ? " · kept" : ""}`);
  return li;
}
