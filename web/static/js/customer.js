// Contract: form[data-choices] holds as JSON what every choice of lines comes to; bit i of a choice's place stands for the
// i-th [data-choice] that is ticked. The total, the sums and the hidden total that is sent follow the ticks. Every amount
// was worked out by the server, which works it out again. Without scripts a button asks for it.
for (const form of document.querySelectorAll("form[data-choices]")) follow(form);

function follow(form) {
  const choices = JSON.parse(form.dataset.choices);
  const ticks = [...form.querySelectorAll("[data-choice]")];
  const show = () => {
    const choice = choices[ticks.reduce((bits, tick, i) => bits | (tick.checked ? 1 << i : 0), 0)];
    form.querySelector("[data-choice-minor]").value = choice.minor;
    for (const total of form.querySelectorAll("[data-choice-total]")) {
      if (total.textContent !== choice.total) total.textContent = choice.total;
    }
    form.querySelectorAll("[data-choice-sum]").forEach((sum, i) => { sum.textContent = choice.sums[i]; });
  };
  form.querySelector("[name=do]").hidden = true;
  form.addEventListener("change", show);
  addEventListener("pageshow", show); // a browser that comes back keeps the ticks and not the total
  show();
}
