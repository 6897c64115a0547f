// Keeping the run: what was typed goes the way that the grid's figures go, what was heard the way of the listening page.
// Both are answered by the program; nothing is judged here.

const down = "The program can’t be reached. What you typed is held in this browser; keep it again when the line is back.";

// fields are the form as it is sent. What is kept as heard is not sent as typed too.
function fields(bench, does, heard) {
  const sent = new URLSearchParams(new FormData(bench.form));
  sent.set("do", does);
  for (const stop of heard) {
    for (const f of bench.all(`[data-stop="${stop}"] [data-figure]`)) sent.set(f.name, f.defaultValue);
  }
  return sent;
}

// keep sends the run. The page that is answered takes the place of this one; where nothing was kept, all stays as it is.
export async function keep(bench) {
  const heard = Object.keys(bench.heard);
  const typed = bench.all("[data-figure]").some((f) => f.value.trim() !== f.defaultValue && !heard.includes(f.closest("[data-stop]").dataset.stop));
  try {
    let page = null;
    if (typed || heard.length === 0) {
      page = await send(bench, heard);
      if (!page) return;
    }
    if (heard.length > 0) {
      const run = page ? new URL(page.url).searchParams.get("done") : bench.root.dataset.run;
      page = await sendHeard(bench, heard, run);
      if (!page) return;
    }
    bench.draft.clear();
    bench.to.turn(page.html, page.url);
  } catch (error) {
    if (!(error instanceof TypeError)) throw error; // what fetch throws when the line is down
    bench.trouble(down);
  }
}

// send sends what was typed; null where the program refused it, and then said why.
async function send(bench, heard) {
  const answer = await fetch(bench.form.action, { method: "POST", body: fields(bench, "keep", heard) });
  const html = await answer.text();
  const url = new URL(answer.url);
  if (answer.ok && url.searchParams.has("done")) return { url: answer.url, html };
  if (signedOut(bench, url)) return null;
  if (answer.status === 422 || answer.status === 409) {
    bench.to.turn(html);
    return null;
  }
  bench.trouble("The program could not keep the run. What you typed is held in this browser; try again in a moment.");
  return null;
}

function signedOut(bench, url) {
  if (url.pathname !== "/sign-in") return false;
  bench.trouble("You were signed out. Sign in again and come back to this page: what you typed is held in this browser.");
  return true;
}

// sendHeard keeps what was heard as readings of the run. What the program does not hold any more stays as typed.
async function sendHeard(bench, stops, run) {
  for (const session of new Set(stops.map((stop) => bench.heard[stop].session))) {
    const sent = new URLSearchParams({ session, run });
    for (const stop of stops) if (bench.heard[stop].session === session) sent.append("take", bench.heard[stop].take);
    let [answer, said] = await keepTakes(bench, sent);
    if (said.ask && confirm(said.problem + " OK: yes, it is.")) {
      sent.set(said.ask, "yes");
      [answer, said] = await keepTakes(bench, sent);
    }
    if (signedOut(bench, new URL(answer.url))) return null;
    if (said.ask) {
      bench.trouble(said.problem);
      return null;
    }
    if (!answer.ok) {
      bench.heard = {};
      bench.after();
      bench.trouble((said.problem ?? "What was heard could not be kept.") + " Its figures stand here as typed: keep them so, or listen again.");
      return null;
    }
    run = said.run;
  }
  const kept = await fetch(bench.form.action + "?done=" + run);
  return { url: kept.url, html: await kept.text() };
}

async function keepTakes(bench, sent) {
  const answer = await fetch(bench.root.dataset.listen + "/keep", { method: "POST", body: sent, headers: { Accept: "application/json" } });
  return [answer, answer.headers.get("Content-Type")?.startsWith("application/json") ? await answer.json() : {}];
}

// look asks the program what it thinks of the figures so far, and puts what it says beside them.
export async function look(bench, left) {
  bench.looking?.abort();
  const looking = (bench.looking = new AbortController());
  const seen = bench.state().values;
  try {
    const answer = await fetch(bench.form.action, { method: "POST", body: fields(bench, "look", []), signal: looking.signal });
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const f of bench.all("[data-figure]")) {
      if (f.value === seen[f.name]) bench.wrong(f, page.querySelector(`[data-wrong="${f.name}"]`)?.innerHTML.trim() ?? "");
    }
    bench.fill();
    const wrong = bench.one(`[data-stop="${left}"] .error`);
    if (wrong && left !== bench.at) bench.to.tell("Look at " + left.split("-")[0] + " again", true);
  } catch {
    // typing went on, or the line is down: keeping it asks again
  }
}
