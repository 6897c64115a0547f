// Contract: a form with a hidden field form_key is sent once however often its button is pressed, and not at all while the
// program can't be reached: the page then stays, says so, and offers to send again.
const answerMs = 6000; // that the program has to say that it is there
const againMs = 20000; // after which a form may be sent again though no answer came

export function startSend(root) {
  const ready = new WeakSet(); // forms whose line was found to be open
  const sent = new WeakMap(); // when each form was sent
  root.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.elements.namedItem("form_key") || form.dataset.selfKept !== undefined) return;
    if (ready.has(form)) {
      ready.delete(form);
      return;
    }
    event.preventDefault();
    event.stopImmediatePropagation();
    if (Date.now() - (sent.get(form) ?? 0) < againMs) return;
    sent.set(form, Date.now());
    form.querySelector(".line-notice")?.remove();
    const trouble = await tried();
    if (!form.isConnected) return;
    if (trouble) {
      sent.delete(form);
      say(form, event.submitter, trouble);
      return;
    }
    ready.add(form);
    form.requestSubmit(event.submitter?.isConnected ? event.submitter : undefined);
    ready.delete(form); // a form that was found wanting by the browser was not sent
  }, true);
  // A script that answers by itself leaves the page as it is, and so does a form that the browser found wanting.
  root.addEventListener("submit", (event) => { if (event.defaultPrevented) sent.delete(event.target); });
  root.addEventListener("invalid", (event) => { if (event.target.form) sent.delete(event.target.form); }, true);
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) for (const form of root.querySelectorAll("form")) sent.delete(form);
  });
}

// By the first line of /healthz.
const troubles = {
  "disk full": "The disk with the records is full: delete or move other files there.",
  "data folder gone": "The folder that holds the records is gone: put it back, or connect its disk again.",
  "read-only disk": "The disk with the records is read-only: have it checked.",
};

// tried asks whether the program is there and says in words what is the matter.
async function tried() {
  try {
    const answer = await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(answerMs) });
    return answer.ok ? "" : (troubles[(await answer.text()).split("\n")[0]] ?? "The program can't reach its records just now.");
  } catch {
    return "The program can't be reached: the line is down.";
  }
}

function say(form, button, trouble) {
  const notice = document.createElement("p");
  notice.className = "line-notice";
  notice.setAttribute("role", "alert");
  notice.dataset.testid = "line-down";
  const again = document.createElement("button");
  again.type = "button";
  again.className = "button";
  again.textContent = "Send again";
  again.dataset.testid = "send-again";
  again.addEventListener("click", () => form.requestSubmit(button?.isConnected ? button : undefined));
  notice.append(trouble + " Nothing was sent; what you typed is still here. ", again);
  form.append(notice);
  again.focus();
}
