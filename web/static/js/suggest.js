// Contract: an input (or textarea) with data-suggest-url="/path" and data-suggest-into="id". While it is typed in,
// after a rest, GET /path?q=typed is fetched and the HTML fragment answered replaces the content of the element
// with that id, which the page marks aria-live="polite". data-suggest-with="a b" sends the fields of those
// names from the same form along. Fewer than data-suggest-least characters (2 when unset) empties the target. The
// fragment is the server's own escaped HTML; links and buttons in it work as on any page.
const restMs = 250;

export function startSuggest(root) {
  for (const input of root.querySelectorAll("[data-suggest-url]")) {
    const target = document.getElementById(input.dataset.suggestInto);
    if (target) watch(input, target);
  }
}

function watch(input, target) {
  let timer = 0;
  let underway = null;
  waiting.set(input, () => {
    clearTimeout(timer);
    underway?.abort();
  });
  input.addEventListener("input", () => {
    clearTimeout(timer);
    underway?.abort();
    timer = setTimeout(async () => {
      underway = new AbortController();
      await show(input, target, underway.signal);
    }, restMs);
  });
}

// ask fetches the answer to what stands in the input at once, and is done when it stands in the target.
export async function ask(input, target) {
  waiting.get(input)?.();
  await show(input, target, undefined);
}

const waiting = new WeakMap(); // what is to be called off when an input is asked for at once

async function show(input, target, signal) {
  const typed = input.value.trim();
  if (typed.length < Number(input.dataset.suggestLeast ?? 2)) {
    target.replaceChildren();
    return;
  }
  try {
    const answer = await fetch(addressOf(input, typed), { signal, headers: { Accept: "text/html" } });
    if (answer.ok && !answer.redirected) target.innerHTML = await answer.text();
  } catch (error) {
    // Typing went on, or the line is down: the form still works without suggestions.
    if (error.name !== "AbortError") target.replaceChildren();
  }
}

function addressOf(input, typed) {
  const url = new URL(input.dataset.suggestUrl, location.href);
  url.searchParams.set("q", typed);
  for (const name of (input.dataset.suggestWith ?? "").split(" ").filter(Boolean)) {
    const other = input.form?.elements.namedItem(name);
    if (other?.value) url.searchParams.set(name, other.value);
  }
  return url;
}
