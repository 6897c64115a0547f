// Contract: form[data-estimate] posts button do=add, do=suggest, do=job, do=recount and do=remove:n, and the server answers with
// the whole page and the form as it then stands. Without scripts that is all; with them the form is exchanged in place,
// and the totals follow what is typed. Nothing is worked out here: every amount comes from the server.
const redraws = /^(add|suggest|job|recount|remove:\d+)$/;
const restMs = 500;

for (const form of document.querySelectorAll("form[data-estimate]")) start(form);

function start(form) {
  let timer = 0;
  form.addEventListener("submit", async (event) => {
    const button = event.submitter;
    if (!button || !redraws.test(button.value)) return;
    event.preventDefault();
    clearTimeout(timer);
    const fromJob = button.value === "job" || document.activeElement?.name === "job";
    const fresh = await ask(form, button.value);
    if (!fresh) {
      const plain = document.createElement("input"); // the line is down or the session over: let the browser say so
      plain.type = "hidden";
      plain.name = button.name;
      plain.value = button.value;
      form.append(plain);
      form.submit();
      return;
    }
    const lines = form.querySelectorAll("fieldset").length;
    form.replaceChildren(...fresh.childNodes);
    const rows = form.querySelectorAll("fieldset");
    const target = button.value === "add" ? rows[rows.length - 1]?.querySelector("input") : form.querySelector(`[value="${button.value}"]:not(.aside)`);
    (fromJob ? form.querySelector("[name=job]") : target ?? rows[Math.min(lines, rows.length) - 1]?.querySelector("input") ?? form.querySelector("[value=add]"))?.focus();
    form.dispatchEvent(new Event("input", { bubbles: true })); // what was exchanged is unsaved
    clearTimeout(timer);
  });
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => followTotals(form), restMs);
  });
}

// followTotals writes what the server works out beside what is typed, and leaves the fields alone.
async function followTotals(form) {
  const fresh = await ask(form, "follow");
  if (!fresh) return;
  for (const amount of fresh.querySelectorAll("[data-amount]")) {
    const here = form.querySelector(`[data-amount="${amount.dataset.amount}"]`);
    if (here) here.textContent = amount.textContent;
  }
  const totals = form.querySelector("[data-estimate-totals]");
  const now = fresh.querySelector("[data-estimate-totals]");
  if (totals && now && totals.innerHTML !== now.innerHTML) totals.replaceChildren(...now.childNodes);
}

// ask posts the form as if the button with that value was pressed, and returns the form that comes back.
async function ask(form, value) {
  const fields = new URLSearchParams(new FormData(form));
  fields.set("do", value);
  try {
    const answer = await fetch(form.action, { method: "POST", body: fields, headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return null;
    return new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("form[data-estimate]");
  } catch {
    return null;
  }
}
