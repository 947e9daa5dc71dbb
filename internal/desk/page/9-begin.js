// The page begins with what was kept. Files that come into the folder by other means are
// seen when the page is looked at again.
(async () => {
  try { await look(); } catch (e) { $("note").textContent = e.message; return; }
  for (const e of all("[data-keep]")) bind(e);
  fill();
  drawTable();
  drawBoxes();
  arrange();
  showNames();
  await refresh();
  document.body.dataset.ready = "true";
})();
addEventListener("focus", async () => {
  if (c === null) return;
  const was = JSON.stringify(files);
  try { await look(); } catch (e) { $("note").textContent = e.message; return; }
  if (JSON.stringify(files) !== was) refresh();
});
