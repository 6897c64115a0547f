// Contract: form[data-preview="/path"] with a [data-figures] panel: after a rest in typing the form is posted there with
// fragment=figures, and the HTML answered, the server's own, replaces the panel. Cells it could not read (named in
// data-unread) are marked. A changed verdict is said in [data-preview-status].
// In a [data-states] grid Tab stays within a state of wind: from its last column to the next position's first, and from
// the last position to the next state, the order in which an instrument is read. Without this script Tab goes by row.
const restMs = 350;
const columnsOfState = 3;

for (const form of document.querySelectorAll("form[data-preview]")) watch(form);
for (const grid of document.querySelectorAll("[data-states]")) grid.addEventListener("keydown", (event) => onTab(grid, event));

function watch(form) {
  const panel = form.querySelector("[data-figures]");
  if (!panel) return;
  let timer = 0;
  let underway = null;
  form.addEventListener("input", (event) => {
    if (event.target.closest("[data-testid='paste-fold']")) return;
    clearTimeout(timer);
    underway?.abort();
    timer = setTimeout(() => {
      underway = new AbortController();
      preview(form, panel, underway.signal);
    }, restMs);
  });
}

async function preview(form, panel, signal) {
  const fields = new URLSearchParams(new FormData(form));
  fields.set("fragment", "figures");
  try {
    const answer = await fetch(form.dataset.preview, { method: "POST", body: fields, signal });
    if (!answer.ok || answer.redirected) return;
    const before = verdictOf(panel);
    panel.innerHTML = await answer.text();
    markUnread(form, panel);
    const verdict = verdictOf(panel);
    const status = form.querySelector("[data-preview-status]");
    if (status && verdict !== before) status.textContent = verdict;
  } catch (error) {
    // Typing went on, or the line is down: Save and Compute still work.
    if (error.name !== "AbortError") return;
  }
}

const verdictOf = (panel) => panel.querySelector("[data-verdict]")?.textContent ?? "";

// The cell being typed in is left in peace: a lone minus is only half a figure yet.
function markUnread(form, panel) {
  const unread = new Set((panel.firstElementChild?.dataset.unread ?? "").split(" "));
  for (const cell of form.querySelectorAll("input.cell")) {
    if (cell === document.activeElement) continue;
    if (unread.has(cell.name)) cell.setAttribute("aria-invalid", "true");
    else cell.removeAttribute("aria-invalid");
  }
}

function onTab(grid, event) {
  if (event.key !== "Tab" || event.ctrlKey || event.metaKey || event.altKey || !event.target.matches("input.cell")) return;
  const rows = [...grid.querySelectorAll("tbody tr")].map((row) => [...row.querySelectorAll("input.cell")]).filter((row) => row.length > 0);
  const order = [];
  for (let first = 0; first < rows[0].length; first += columnsOfState) {
    for (const row of rows) order.push(...row.slice(first, first + columnsOfState));
  }
  const next = order[order.indexOf(event.target) + (event.shiftKey ? -1 : 1)];
  if (!next) {
    leave(grid, event);
    return;
  }
  event.preventDefault();
  next.focus();
}

// From the last cell Tab goes on to what follows the grid, and from the first back to what stands before it, wherever
// those cells lie in the rows.
function leave(grid, event) {
  const all = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")]
    .filter((element) => !element.disabled && element.getClientRects().length > 0 && !element.matches("input.cell"));
  const side = event.shiftKey ? Node.DOCUMENT_POSITION_PRECEDING : Node.DOCUMENT_POSITION_FOLLOWING;
  const beyond = all.filter((element) => grid.compareDocumentPosition(element) & side && !grid.contains(element) && !element.contains(grid));
  const next = event.shiftKey ? beyond[beyond.length - 1] : beyond[0];
  if (!next) return;
  event.preventDefault();
  next.focus();
}
