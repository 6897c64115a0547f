// Contract: [data-listen] holds the page's parts, found by their data- attributes. It opens the microphone, sends its
// sound to the program, and shows what the program answers: no figure is worked out or rounded here.
import { Level, Trouble, microphones, obstacle, openMicrophone } from "./listen-microphone.js";
import { Line } from "./listen-line.js";
import { Cue } from "./listen-cue.js";
import { drawTakes, startKeeping } from "./listen-keep.js";
import { drawMeans, drawRound } from "./listen-beats.js";
import { SetUp } from "./listen-setup.js";

const marks = { pass: "pass", fail: "fail", undecided: "undecided", notmeasured: "not measured" };

for (const root of document.querySelectorAll("[data-listen]")) new Listening(root).begin();

function Listening(root) {
  const one = (name) => root.querySelector(`[data-${name}]`);
  const all = (name) => root.querySelectorAll(`[data-${name}]`);
  const level = new Level();
  const settings = one("settings");
  const setUp = new SetUp(one("setup"), settings);
  let microphone = null;
  let line = null;
  let cue = null;
  let wake = null;
  let latest = null; // report
  let broken = false;
  let started = 0; // counts the starts: what is reported of an earlier one is not shown any more

  this.begin = () => {
    const why = obstacle();
    if (why) trouble(why);
    one("start").disabled = Boolean(why);
    one("start").addEventListener("click", () => (line ? restart() : start()));
    one("stop").addEventListener("click", stop);
    one("skip").addEventListener("click", () => line?.say({ type: "skip" }));
    settings.addEventListener("submit", (event) => event.preventDefault());
    root.addEventListener("change", (event) => event.target.form === settings && changed(event));
    one("microphone").addEventListener("change", reopen);
    navigator.mediaDevices?.addEventListener?.("devicechange", listMicrophones);
    document.addEventListener("visibilitychange", () => microphone && stayAwake());
    startKeeping(root, { trouble, next });
    showPosition(chosen("position"));
    requestAnimationFrame(showLevel);
  };

  const chosen = (name) => root.querySelector(`[name="${name}"]:checked`)?.value ?? "";

  function fields() {
    const f = Object.fromEntries(new FormData(settings));
    f.started = String(++started);
    f.run = root.querySelector('[data-keep] [name="run"]')?.value ?? "";
    return f;
  }

  async function start() {
    trouble("");
    one("start").disabled = true;
    say("Opening the microphone.");
    cue = new Cue(settings.querySelector('[name="voice"]').checked);
    try {
      await open(one("microphone").value);
      phase("settling");
      line.say({ type: "start", fields: fields() });
      setUp.store();
    } catch (error) {
      if (!(error instanceof Trouble)) throw error;
      trouble(error.message);
      close();
    } finally {
      one("start").disabled = false;
    }
  }

  async function open(deviceId) {
    microphone = await openMicrophone(deviceId, hear, () => {
      trouble("The microphone was unplugged or taken away. What was heard before counts.");
      stop();
    });
    warn(microphone.warnings);
    await listMicrophones();
    if (line && line.rate !== microphone.rate) hangUp();
    line ??= new Line(root.dataset.base + "/socket", microphone.rate, {
      open: opened,
      report,
      refused,
      broken: () => {
        broken = true;
        say("The line to the program is down. What is heard is held for a minute and sent when it is back.");
      },
      error: (code, text) => {
        trouble(text);
        hangUp();
        close();
      },
    });
    stayAwake();
  }

  function opened(resumed, session) {
    for (const field of all("session")) field.value = session;
    if (broken) say("The line is back; listening went on.");
    broken = false;
  }

  function hear(samples, lost) {
    level.hear(samples);
    line?.push(samples, lost);
  }

  // A change of what is listened to begins anew at once, so that nothing heard before counts for it.
  function changed(event) {
    if (event.target.name === "position") showPosition(event.target.value);
    if (event.target.name === "voice") {
      if (cue) cue.voice = event.target.checked;
      return;
    }
    if (event.target.matches("[data-microphone]")) return;
    if (running()) restart();
  }

  const running = () => microphone !== null && ["settling", "measuring", "decided"].includes(root.dataset.phase);

  async function restart() {
    trouble("");
    if (!microphone) {
      await start();
      return;
    }
    phase("settling");
    line.say({ type: "start", fields: fields() });
  }

  async function reopen() {
    if (!microphone) return;
    microphone.close();
    microphone = null;
    hangUp();
    await start();
  }

  // stop ends listening; the session stays, so that what was heard can be kept.
  function stop() {
    line?.say({ type: "stop" });
    close();
  }

  function close() {
    microphone?.close();
    microphone = null;
    cue?.close();
    cue = null;
    wake?.release().catch(() => {});
    wake = null;
    phase(latest ? "over" : "off");
    if (!latest) say("Not listening.");
  }

  function hangUp() {
    line?.close();
    line = null;
    latest = null;
  }

  // next is called when the position listened to was kept: the watch is turned to the next.
  function next(position) {
    if (chosen("mode") === "six" || !position) return;
    root.querySelector(`[name="position"][value="${position}"]`).checked = true;
    showPosition(position);
    if (microphone) {
      if (parseFloat(settings.querySelector('[name="settle"]').value) >= 1) cue?.tone(1); // it has died away by then
      restart();
    } else {
      say("Turn the watch and start again.");
    }
  }

  function refused(problems) {
    trouble(Object.values(problems).join(" "));
    const first = Object.keys(problems).map((name) => root.querySelector(`[name="${name}"]`)).find(Boolean);
    if (first?.form === settings) setUp.unfold();
    first?.focus();
    close();
  }

  function report(r) {
    const before = latest?.started === r.started ? latest : null;
    latest = r;
    drawTakes(root, r.takes, r.phase && r.phase !== "over" ? r.position.symbol : "");
    if (r.round) drawRound(root, r.round.svg);
    clock(r.clock);
    if (!r.phase || r.started !== String(started)) return;
    cues(before, r);
    if (microphone || r.phase === "over") phase(r.phase);
    if (r.phase === "over" && before?.phase !== "over" && microphone && r.position.of > 1) close();
    root.querySelector(`[name="position"][value="${r.position.symbol}"]`).checked = true;
    showPosition(r.position.symbol, r.position.words);
    if (!broken) say(capital(sayingOf(r)));
    figures(r);
    verdict(r);
    drawMeans(root, r.means ?? []);
    one("quality").textContent = [r.beats, r.quality].filter(Boolean).join(" · ");
    one("notes").replaceChildren(...notes(r).map((text) => item(text)));
  }

  function notes(r) {
    return r.notes ?? [];
  }

  function cues(before, r) {
    if (!cue || r.position.of === 1) return;
    const turned = before?.position && before.phase !== "over" && r.position.number !== before.position.number;
    const first = r.position.number === 1 && r.phase === "settling" && before?.phase !== "settling";
    if (r.phase === "over" && before?.phase !== "over") {
      cue.tone(3, 660);
      cue.say("All six positions are heard.");
    } else if (turned || first) {
      cue.tone(2);
      cue.say("Turn to " + r.position.words);
    }
  }

  function sayingOf(r) {
    const place = r.position.of > 1 ? `${r.position.number} of ${r.position.of}: ` : "";
    const left = Math.ceil(r.left_s);
    switch (r.phase) {
      case "settling":
        return `${place}turn the watch and let it settle, ${left} s.`;
      case "over":
        return r.takes.length ? "Listening is over." : "Listening is over. No watch was heard.";
    }
    if (!r.watch) return `${place}no watch heard yet, ${Math.floor(r.heard_s)} s.`;
    if (r.phase === "decided") return `${place}${r.mark === "undecided" ? "settled" : "good enough to decide"}, ${Math.floor(r.heard_s)} s.`;
    return `${place}listening, ${Math.floor(r.heard_s)} s` + (left ? `, at most ${left} s more.` : ".");
  }

  function figures(r) {
    for (const box of all("figure")) {
      const f = r.figures?.[box.dataset.figure];
      set(box.querySelector("[data-value]"), f ? f.value : "–");
      set(box.querySelector("[data-u]"), f?.u ? "± " + f.u : "");
    }
  }

  function verdict(r) {
    const lozenge = one("lozenge");
    lozenge.dataset.mark = r.mark;
    lozenge.setAttribute("aria-label", marks[r.mark]);
    // Half full is undecided: what is settling fills up to there.
    const share = r.mark === "pass" ? 1 : r.mark === "fail" ? 0 : r.settled / 2;
    one("fill").setAttribute("width", (3 + 18 * share).toFixed(2));
    set(one("verdict-word"), verdictWord(r));
    set(one("verdict-text"), r.verdict);
  }

  function verdictWord(r) {
    if (!r.watch) return "Not measured";
    if (r.settled === 1) return { pass: "Good enough to decide", fail: "Fails: good enough to decide" }[r.mark] ?? "Settled";
    return r.phase === "over" ? "Not decided" : "Settling";
  }

  function clock(text) {
    const form = one("clock");
    form.hidden = !text;
    if (!text) return;
    set(one("clock-text"), text);
    one("clock-recorder").value = settings.querySelector('[name="recorder"]').value;
  }

  function showPosition(symbol, said) {
    for (const drawing of all("drawing")) drawing.hidden = drawing.dataset.drawing !== symbol;
    const words = root.querySelector(`[data-line="${symbol}"] [data-position-words]`)?.textContent;
    set(one("symbol"), symbol);
    set(one("words"), said || words || "");
    for (const line of all("line")) line.toggleAttribute("data-here", line.dataset.line === symbol);
  }

  function phase(name) {
    root.dataset.phase = name;
    const on = running();
    one("start").textContent = on ? "Begin again" : "Start listening";
    one("start").classList.toggle("chief", !on);
    one("start").classList.toggle("plain", on);
    one("stop").hidden = !on;
    one("skip").hidden = !on || chosen("mode") !== "six";
    one("level").hidden = microphone === null;
  }

  function showLevel() {
    if (microphone) {
      one("level-bar").style.inlineSize = (100 * level.share()).toFixed(0) + "%";
      set(one("level-word"), level.word());
    }
    setTimeout(() => requestAnimationFrame(showLevel), 100);
  }

  async function listMicrophones() {
    const list = await microphones();
    const select = one("microphone");
    const now = microphone?.deviceId || select.value;
    select.replaceChildren(...list.map((m) => new Option(m.name, m.id, false, m.id === now)));
    one("microphones").hidden = list.length < 2;
  }

  async function stayAwake() {
    try {
      if (document.visibilityState === "visible") wake = (await navigator.wakeLock?.request("screen")) ?? null;
    } catch {
      wake = null; // the system may refuse, on a low battery say
    }
  }

  function trouble(text) {
    one("trouble").hidden = !text;
    set(one("trouble-text"), text);
  }

  function warn(list) {
    one("warnings").hidden = list.length === 0;
    one("warnings").replaceChildren(...list.map((text) => item(text)));
  }

  function say(text) {
    set(one("say"), text);
  }
}

// set changes text only when it differs, so that nothing is read out twice.
function set(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

function item(text) {
  const li = document.createElement("li");
  li.textContent = text;
  return li;
}
