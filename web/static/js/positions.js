// Contract: [data-at-bench] holds the bench view: a form with a [data-stop] for each position in each state of wind, of
// which one is in sight. Every act is a button of the page; a pedal and a scanned code (data-scan) press the same button.
// The program answers a run that is kept or refused with a page, whose main part takes the place of this one.
import { Scanner } from "./positions-scan.js";
import { liking } from "./positions-draft.js";
import { Bench } from "./positions-bench.js";
import { Cue } from "./listen-cue.js";

let bench = null;
let cue = null;
let taken = ""; // the key that was acted on and goes nowhere else

// tell puts a few words where they are seen and read out, and speaks them where that is switched on: a tone first, a low
// one for what is refused.
function tell(text, refused = false) {
  const place = document.querySelector("[data-say]");
  if (place) place.textContent = text + ".";
  if (liking("voice") !== "on") return;
  cue ??= new Cue(true);
  cue.tone(1, refused ? 330 : 880);
  setTimeout(() => cue.say(text), 300);
}

// turn puts the program's answer in place of the page.
function turn(html, url) {
  const next = new DOMParser().parseFromString(html, "text/html");
  const main = next.querySelector("main");
  document.querySelector("main").replaceWith(main);
  document.title = next.title;
  if (url) history.replaceState(null, "", url);
  begin();
  scrollTo(0, 0);
}

function begin() {
  const root = document.querySelector("[data-at-bench]");
  bench?.leave();
  bench = null;
  if (!root) return;
  furnish(root);
  if (root.matches("[data-kept]")) {
    tell(root.dataset.says);
    root.querySelector("[data-scan]")?.focus();
    return;
  }
  bench = new Bench(root, { tell, turn });
}

// furnish shows what only scripts can do: the sizes and the voice.
function furnish(root) {
  root.querySelector("[data-tools]").hidden = false;
  const size = (name) => {
    root.dataset.size = name;
    for (const button of root.querySelectorAll("[data-size-to]")) {
      button.setAttribute("aria-pressed", String(button.dataset.sizeTo === name));
    }
  };
  size(liking("size") || "M");
  for (const button of root.querySelectorAll("[data-size-to]")) {
    button.addEventListener("click", () => size(liking("size", button.dataset.sizeTo)));
  }
  const voice = root.querySelector("[data-voice]");
  voice.setAttribute("aria-pressed", String(liking("voice") === "on"));
  voice.addEventListener("click", () => {
    const on = liking("voice") !== "on";
    liking("voice", on ? "on" : "off");
    voice.setAttribute("aria-pressed", String(on));
    tell(on ? "Speaking is on" : "Speaking is off");
  });
}

const scanner = new Scanner(document.querySelector("[data-at-bench]")?.dataset.prefix ?? "", () =>
  [...document.querySelectorAll("[data-at-bench] :is(input, textarea):not([type=hidden])")], {
  word(word) {
    if (word === document.querySelector("[data-scan-test]")?.dataset.scan) {
      result("The scanner works: code, keyboard and Enter arrive.");
      tell("The scanner works");
      return true;
    }
    if (bench?.answers(word)) return true;
    const button = [...document.querySelectorAll("[data-scan]")].find((b) => b.dataset.scan === word && !b.hidden);
    button?.click();
    return Boolean(button);
  },
  foreign(text) {
    tell("No code of this sheet", true);
    result(`“${text}” is no code of the sheet.`);
  },
  garbled(word) {
    tell("Scanner: wrong keyboard layout", true);
    result(`A code came as “${word}”: the scanner types for another keyboard than this machine is set to. Its manual has a code for each country’s keyboard.`);
  },
  begins: () => bench?.mark(),
  restored: () => bench?.unmark(),
  unended() {
    tell("Scanner: no Enter after code", true);
    result("A code came without Enter after it. The scanner’s manual has a code that adds it: “suffix Enter” or “CR”.");
  },
});

function result(text) {
  const place = document.querySelector("[data-scan-result]");
  if (place) place.textContent = text;
}

document.addEventListener("keydown", (event) => {
  if (!document.querySelector("[data-at-bench]")) return;
  if (!scanner.key(event)) bench?.key(event);
  taken = event.defaultPrevented ? event.key : "";
}, true);

// Some keyboards send the sign of a key apart from the key: what was taken above is taken here too.
document.addEventListener("keypress", (event) => {
  if (event.key === taken) event.preventDefault();
}, true);

begin();
