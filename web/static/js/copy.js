// Contract: button[data-copy="id"], hidden in the page as served, copies the text of the element with that id; it shows
// only where copying can work. [data-copy-status] on the page says that it was done.
for (const button of document.querySelectorAll("button[data-copy]")) {
  const source = document.getElementById(button.dataset.copy);
  if (!source || !navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    await navigator.clipboard.writeText(source.value ?? source.textContent.trim());
    const status = document.querySelector("[data-copy-status]");
    if (status) status.textContent = "Copied.";
  });
}
