// Keeping what was heard: the list of positions, and its form, which is sent in the background so that listening goes on.
// Where the program refuses, the form is sent again as a page, which shows why.

// startKeeping wires the forms; on: trouble(text), next(position).
export function startKeeping(root, on) {
  const form = root.querySelector("[data-keep]");
  form?.addEventListener("submit", (event) => {
    const running = form.querySelector('[data-state="running"] input');
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
    else button.disabled = form.querySelector('[name="take"]') === null;
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

// drawTakes lists what was heard. What is not kept yet is ticked, and stays as the person left it.
export function drawTakes(root, takes) {
  for (const list of root.querySelectorAll("[data-takes]")) {
    const keeping = list.closest("[data-keep]") !== null;
    const seen = new Map([...list.children].map((li) => [li.dataset.take, li]));
    list.replaceChildren(...takes.map((t) => row(seen.get(String(t.number)), t, keeping)));
  }
  const form = root.querySelector("[data-keep]");
  if (form) {
    form.querySelector("[data-no-takes]").hidden = takes.length > 0;
    form.querySelector("[data-keep-button]").disabled = !takes.some((t) => !t.kept);
  }
  const heard = root.querySelector("[data-heard]:not([data-testid])");
  if (heard) heard.hidden = takes.length === 0;
}

function row(li, t, keeping) {
  const state = t.kept ? "kept" : t.running ? "running" : "heard";
  const figures = t.text + { kept: " · kept", running: " · listening", heard: "" }[state];
  if (li && li.dataset.state === state) {
    const shown = li.querySelector(".listen-take-figures");
    if (shown.textContent !== figures) shown.textContent = figures;
    return li;
  }
  const was = li?.querySelector("input");
  li = document.createElement("li");
  Object.assign(li.dataset, { take: String(t.number), state, testid: "take-" + t.position });
  const ticked = keeping && !t.kept;
  const label = document.createElement(ticked ? "label" : "span");
  if (ticked) {
    const box = document.createElement("input");
    Object.assign(box, { type: "checkbox", name: "take", value: String(t.number), checked: was ? was.checked : true });
    label.append(box);
  }
  const words = document.createElement("span");
  const name = document.createElement("b");
  name.textContent = t.position;
  const said = document.createElement("span");
  said.className = "listen-take-figures";
  said.textContent = figures;
  words.append(name, ` ${t.words}, ${t.state}`, said);
  label.append(words);
  li.append(label);
  return li;
}
