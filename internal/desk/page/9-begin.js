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
// takeOver takes what another page of the desk has chosen meanwhile.
function takeOver(said) {
  if (document.activeElement) document.activeElement.blur();
  c = said.choices;
  kept = JSON.parse(JSON.stringify(c));
  version = said.version;
  trouble = $("state").textContent = "";
  showFiles(said.more);
  fill();
  drawTable();
  drawBoxes();
  arrange();
  showNames();
  refresh();
}
addEventListener("focus", async () => {
  if (c === null) return;
  const was = JSON.stringify(files);
  let said;
  try { said = await look(); } catch (e) { $("note").textContent = e.message; return; }
  if (said.version > version && !unsent && !sending) takeOver(said);
  else if (JSON.stringify(files) !== was) refresh();
});
