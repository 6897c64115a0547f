// Contract: form[data-scan-into="ticket"] on the page takes a scanned ticket, wherever the keyboard is, into the input of
// that name, and presses the form's button [data-scan-check], which asks the program whose it is and changes nothing. That
// button is the first of the form, so that it is also the one that Enter presses in a field: before this script is there,
// and where a scanner is slower than its burst is known by. A form that was refused gives the keyboard to the first field
// that lacks something.
// form[data-sum-url] has its [data-sums] (what goes, how it is paid) asked for there as they change: GET with them gives pieces
// of the page, each put in the place of the one with its id.
import { Scanner } from "./positions-scan.js";

const form = document.querySelector("form[data-scan-into]");
if (form) {
  const fields = () => [...document.querySelectorAll("input, textarea")];
  const scanner = new Scanner("\u0000", fields, {
    word: () => false,
    garbled() {},
    unended() {},
    begins() {},
    restored() {},
    foreign(text) {
      const ticket = form.elements.namedItem(form.dataset.scanInto);
      ticket.value = text;
      ticket.dispatchEvent(new Event("input", { bubbles: true }));
      form.requestSubmit(form.querySelector("[data-scan-check]"));
    },
  });
  if (form.dataset.sumUrl) startSums(form);
  let taken = ""; // the key whose keydown was not for the page: neither is its sign, which Chromium may send all the same
  let letters = 0; // that fell onto a button: a slow scan's, whose Enter is not meant for it either
  form.addEventListener("focusin", (event) => {
    letters = 0;
    if (event.target.name === form.dataset.scanInto) event.target.select(); // another scan takes its place
  });
  addEventListener("keydown", (event) => {
    const button = form.contains(event.target) && event.target.matches("button");
    const ends = event.key === "Enter" && button && letters > 0;
    letters = button && event.key !== "Enter" ? letters + (event.key.length === 1 && event.key !== " ") : 0;
    if (ends) event.preventDefault();
    taken = scanner.key(event) || ends ? event.key : "";
  }, true);
  addEventListener("keypress", (event) => {
    if (event.key === taken) event.preventDefault();
  }, true);
  const lacks = form.querySelector("[aria-invalid=true]:not([type=hidden]), .field.wrong input, .field.wrong select");
  if (lacks && !form.querySelector("[autofocus]")) lacks.focus();
}

function startSums(form) {
  let timer = 0;
  let underway = null;
  form.addEventListener("input", (event) => {
    if (!event.target.matches("[data-sums]")) return;
    clearTimeout(timer);
    underway?.abort();
    timer = setTimeout(async () => {
      underway = new AbortController();
      try {
        await sum(form, underway.signal);
      } catch {
        // Ticking went on, or the line is down: the program says when the form is sent where the sum is another.
      }
    }, 150);
  });
}

async function sum(form, signal) {
  const url = new URL(form.dataset.sumUrl, location.href);
  for (const field of form.querySelectorAll("[data-sums]")) {
    if (field.matches("[type=checkbox], [type=radio]") ? field.checked : field.value) url.searchParams.append(field.name, field.value);
  }
  const answer = await fetch(url, { signal, headers: { Accept: "text/html" } });
  if (!answer.ok || answer.redirected) return;
  const pieces = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const piece of [...pieces.body.children]) document.getElementById(piece.id)?.replaceWith(piece);
}
