// Contract: [data-grid] holds a table whose body cells hold at most one text input each. Enter, Shift+Enter and
// the up and down arrows move within the column; left and right move to the next cell when the caret stands at
// that end of what is typed. Text pasted with tabs, semicolons, commas or line breaks fills the cells to the right and
// below, starting at the one pasted into, or in the row that a line names first; a line of headings is passed over, and
// what does not fit is left out and said in a live region. The server reads such a text by the same rule.
export function startGrids(root) {
  for (const grid of root.querySelectorAll("[data-grid]")) {
    const status = liveRegion(grid);
    grid.addEventListener("keydown", (event) => onKey(grid, event));
    grid.addEventListener("paste", (event) => onPaste(grid, event, status));
    grid.addEventListener("focusin", (event) => {
      if (isCell(event.target)) event.target.select();
    });
  }
}

const isCell = (element) => element instanceof HTMLInputElement && element.type === "text";

// The cells as rows of inputs. A row without inputs (a heading between groups) is left out; columns are counted
// by input, not by table cell, so row headings do not matter.
function cellsOf(grid) {
  return [...grid.querySelectorAll("tbody tr")]
    .map((row) => [...row.querySelectorAll("input")].filter(isCell))
    .filter((row) => row.length > 0);
}

function placeOf(cells, input) {
  const row = cells.findIndex((list) => list.includes(input));
  return { row, column: row < 0 ? -1 : cells[row].indexOf(input) };
}

function onKey(grid, event) {
  if (!isCell(event.target) || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
  const step = stepOf(event);
  if (!step) return;
  const cells = cellsOf(grid);
  const at = placeOf(cells, event.target);
  if (at.row < 0) return;
  const next = cells[at.row + step.rows]?.[at.column + step.columns];
  if (next) {
    event.preventDefault();
    next.focus();
  } else if (event.key === "Enter" && !event.shiftKey) {
    const top = cells[0][at.column + 1];
    if (top) {
      event.preventDefault(); // from the foot of a column to the head of the next
      top.focus();
    }
  }
}

function stepOf(event) {
  const input = event.target;
  const all = input.selectionStart === 0 && input.selectionEnd === input.value.length;
  const rtl = getComputedStyle(input).direction === "rtl" ? -1 : 1;
  switch (event.key) {
    case "Enter":
      return { rows: event.shiftKey ? -1 : 1, columns: 0 };
    case "ArrowDown":
      return { rows: 1, columns: 0 };
    case "ArrowUp":
      return { rows: -1, columns: 0 };
    case "ArrowRight":
      return !event.shiftKey && (all || input.selectionStart === input.value.length) ? { rows: 0, columns: rtl } : null;
    case "ArrowLeft":
      return !event.shiftKey && (all || input.selectionEnd === 0) ? { rows: 0, columns: -rtl } : null;
  }
  return null;
}

function onPaste(grid, event, status) {
  if (!isCell(event.target)) return;
  const text = event.clipboardData?.getData("text/plain") ?? "";
  const block = linesOf(text);
  if (block.length === 1 && block[0].length === 1) return; // one value: the browser's own paste will do
  event.preventDefault();
  const cells = cellsOf(grid);
  const at = placeOf(cells, event.target);
  let filled = 0;
  let left = 0;
  block.forEach((line, i) => {
    const named = line.length > 1 ? cells.findIndex((row) => nameOf(row[0]) === line[0]) : -1;
    const row = named < 0 ? at.row + i : named;
    (named < 0 ? line : line.slice(1)).forEach((value, j) => {
      const input = cells[row]?.[at.column + j];
      if (!input || input.readOnly || input.disabled) {
        left++;
        return;
      }
      input.value = value.trim();
      input.dispatchEvent(new Event("input", { bubbles: true }));
      filled++;
    });
  });
  const rest = left > 0 ? ` ${left} did not fit and were left out.` : "";
  status.textContent = `${filled} cells filled.${rest}`;
}

// The pasted lines as fields, without a line of headings.
function linesOf(text) {
  const lines = text.replace(/(\r\n|\r|\n)$/, "").split(/\r\n|\r|\n/);
  let separator = "\t";
  if (!text.includes("\t")) {
    const commasPart = (line) => line.includes(",") && !/^\s*"?[+\-−]?\d*,\d*"?\s*$/.test(line);
    separator = text.includes(";") ? ";" : lines.some(commasPart) ? "," : "\t";
  }
  const block = lines.map((line) => fieldsOf(line, separator));
  const heading = block[0].every((field) => !/\d/.test(field)) && block[0].some((field) => /rate|amplitude|beat/i.test(field));
  return heading ? block.slice(1) : block;
}

// The fields of a line; a decimal comma may stand between quotation marks.
function fieldsOf(line, separator) {
  const fields = [""];
  let quoted = false;
  for (const c of line) {
    if (c === '"') quoted = !quoted;
    else if (c === separator && !quoted) fields.push("");
    else fields[fields.length - 1] += c;
  }
  return fields.map((field) => field.trim());
}

// What a row is called: the first word of its heading.
const nameOf = (input) => input?.closest("tr")?.querySelector("th")?.textContent.trim().split(/\s+/)[0];

function liveRegion(grid) {
  const p = document.createElement("p");
  p.className = "hint";
  p.setAttribute("role", "status");
  grid.append(p);
  return p;
}
