// The strip of beats: two ruled lanes on one axis of time, ticks above and tocks below, the newest at the right. In each
// lane a beat stands above its fitted line when it came late, within the band when its scatter is the usual one.
const left = 48;
const height = 264;
const middle = 60;
const reach = 54; // from the line to the edge of a lane

export function drawStrip(svg, strip) {
  const width = Math.max(280, svg.clientWidth || 900); // one unit is one pixel, so that type keeps its size
  const right = width - 4;
  ruleLanes(svg, width, right);
  const xOf = (s) => left + ((right - left) * (s - strip.from_s)) / (strip.to_s - strip.from_s);
  const yOf = (ms) => middle - reach * Math.max(-1, Math.min(1, ms / strip.half_ms));
  const lanes = { tick: { used: "", off: "" }, tock: { used: "", off: "" } };
  for (let i = 0; i < strip.beats.length; i += 4) {
    const [number, time, ms, used] = strip.beats.slice(i, i + 4);
    const lane = lanes[number % 2 === 0 ? "tick" : "tock"];
    const x = xOf(time).toFixed(1);
    const y = yOf(ms);
    if (used) lane.used += `M${x} ${middle}V${y.toFixed(1)}`;
    else lane.off += `M${(x - 3).toFixed(1)} ${(y - 3).toFixed(1)}l6 6m0 -6l-6 6`;
  }
  const band = reach * Math.min(1, strip.band_ms / strip.half_ms);
  for (const [name, lane] of Object.entries(lanes)) {
    const g = svg.querySelector(`[data-lane="${name}"]`);
    g.querySelector("[data-beats]").setAttribute("d", lane.used);
    g.querySelector("[data-off]").setAttribute("d", lane.off);
    const box = g.querySelector("[data-band]");
    box.setAttribute("y", (middle - band).toFixed(1));
    box.setAttribute("height", (2 * band).toFixed(1));
  }
  times(svg.querySelector("[data-strip-times]"), strip, xOf);
}

function ruleLanes(svg, width, right) {
  const box = `0 0 ${width} ${height}`;
  if (svg.getAttribute("viewBox") === box) return;
  svg.setAttribute("viewBox", box);
  for (const lane of svg.querySelectorAll("[data-lane]")) {
    lane.querySelector("[data-lane-sheet]").setAttribute("width", right - left);
    lane.querySelector("[data-band]").setAttribute("width", right - left);
    lane.querySelector("[data-lane-line]").setAttribute("d", `M${left} ${middle}H${right}`);
    lane.querySelector("[data-lane-rules]").setAttribute("d", [6, 33, 87, 114].map((y) => `M${left} ${y}H${right}`).join(""));
  }
}

// times writes the seconds below the lanes, every five.
function times(g, strip, xOf) {
  const marks = [];
  for (let s = Math.max(0, Math.ceil(strip.from_s / 5) * 5); s <= strip.to_s; s += 5) marks.push(s);
  while (g.children.length < marks.length) g.append(document.createElementNS("http://www.w3.org/2000/svg", "text"));
  while (g.children.length > marks.length) g.lastChild.remove();
  marks.forEach((s, i) => {
    g.children[i].setAttribute("x", xOf(s).toFixed(1));
    g.children[i].setAttribute("y", "260");
    g.children[i].textContent = i === marks.length - 1 ? `${s} s` : String(s);
  });
}
