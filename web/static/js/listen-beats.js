// The picture of the beats and the ledger of their means, as the program made both.

// drawRound puts the program's drawing in place of the one before; "" for none.
export function drawRound(root, svg) {
  const drawing = svg && new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  root.querySelector("[data-round]").replaceChildren(...(drawing ? [document.adoptNode(drawing)] : []));
  root.querySelector("[data-no-round]").hidden = Boolean(drawing);
}

// drawMeans writes a line for each mean, the newest last.
export function drawMeans(root, means) {
  const table = root.querySelector("[data-means]");
  table.hidden = means.length === 0;
  const body = table.tBodies[0];
  if (body.dataset.drawn === JSON.stringify(means)) return;
  body.dataset.drawn = JSON.stringify(means);
  body.replaceChildren(...means.map((m) => {
    const row = document.createElement("tr");
    const head = document.createElement("th");
    head.scope = "row";
    head.textContent = m.span;
    row.append(head, ...[m.rate, m.amplitude, m.beat_error].map(cell));
    return row;
  }));
}

function cell(f) {
  const td = document.createElement("td");
  td.className = "num";
  td.textContent = f ? f.value : "–";
  if (f?.u) {
    const u = document.createElement("span");
    u.className = "quiet";
    u.textContent = " ± " + f.u;
    td.append(u);
  }
  return td;
}
