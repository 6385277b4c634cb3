"use strict";
// Points taken from the model become lines for the job.
(() => {
  const facts = JSON.parse(document.getElementById("facts").textContent);
  const view = openModel(document.querySelector(".model"));
  const $ = id => document.getElementById(id);
  const kept = "gapwright points " + facts.sha256;
  let points = [];

  // ---- words ------------------------------------------------------------------------------------
  const number = (v, digits) => { const t = v.toFixed(digits); return +t === 0 ? t.replace("-", "") : t; };
  const triple = at => at.map(v => number(v, facts.digits)).join(", ");
  // What TOML 1.0 lets stand as a key without quotes: letters, digits, - and _.
  const bare = text => text.normalize("NFD").replace(/\s/g, "_").replace(/[^A-Za-z0-9_-]/g, "");
  const taken = (name, but) => points.some(p => p !== but && p.name === name);
  function free(name, but) {
    if (name && !taken(name, but)) return name;
    const stem = name ? `${name}_` : "p";
    for (let i = name ? 2 : 1; ; i++) if (!taken(stem + i, but)) return stem + i;
  }
  const part = () => document.querySelector("input[name=part]:checked").value;
  const lines = () => [`[points.${part()}]`, ...points.map(p => `${p.name} = [${triple(p.at)}]`), ""].join("\n");

  // ---- what is on the page ------------------------------------------------------------------------
  function cell(row, content, kind) {
    const td = row.appendChild(document.createElement("td"));
    if (kind) td.className = kind;
    td.append(content);
  }
  function list() {
    $("list").replaceChildren(...points.map(p => {
      const row = document.createElement("tr");
      const name = Object.assign(document.createElement("input"), { value: p.name, spellcheck: false, maxLength: 40, autocapitalize: "off", autocomplete: "off" });
      name.setAttribute("aria-label", "Name of the point");
      name.addEventListener("input", () => {
        const before = name.value, caret = bare(before.slice(0, name.selectionStart)).length;
        if (bare(before) !== before) { name.value = bare(before); name.setSelectionRange(caret, caret); }
        if (name.value && !taken(name.value, p)) { p.name = name.value; told(); }
      });
      name.addEventListener("change", () => { p.name = free(name.value, p); name.value = p.name; told(); });
      const gone = Object.assign(document.createElement("button"), { type: "button", textContent: "\u00d7", title: "Take this point out" });
      gone.setAttribute("aria-label", "Take the point out");
      gone.addEventListener("click", () => { points = points.filter(other => other !== p); changed(); });
      cell(row, name);
      cell(row, triple(p.at), "n");
      cell(row, gone);
      return row;
    }));
    $("none").hidden = points.length > 0;
    $("undo").disabled = $("copy").disabled = points.length === 0;
  }
  function told() {
    $("lines").value = points.length ? lines() : "";
    $("lines").rows = Math.min(12, Math.max(3, points.length + 2));
    $("copied").textContent = "";
    const ends = points.slice(-2);
    $("apart").hidden = ends.length < 2;
    if (ends.length === 2) {
      const [a, b] = ends.map(p => p.at);
      const far = Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
      $("between").textContent = `${ends[0].name} to ${ends[1].name}`;
      $("far").textContent = `${number(far, facts.digits)} in the file = ${number(far * facts.mm, 1)} mm`;
    }
    if (view) view.mark(points, ends.length === 2 ? ends.map(p => p.at) : null);
    // A page opened from disk may have no store; the points then last as long as the page.
    try { localStorage.setItem(kept, JSON.stringify({ part: part(), points })); } catch { /* no store */ }
  }
  function changed() { list(); told(); }

  // ---- what the hand does -------------------------------------------------------------------------
  if (view) {
    view.onPick = hit => {
      $("said").className = hit ? "heard" : "look";
      if (!hit) { $("said").textContent = "There is no surface at that place."; return; }
      const point = { name: free(""), at: hit.at };
      points.push(point);
      $("said").textContent = `${point.name}: ${triple(point.at)} ${facts.unit}`;
      changed();
    };
  }
  for (const choice of document.querySelectorAll("input[name=part]")) choice.addEventListener("change", told);
  $("undo").addEventListener("click", () => { points.pop(); changed(); });
  $("copy").addEventListener("click", async () => {
    const box = $("lines");
    let done = false;
    try { await navigator.clipboard.writeText(box.value); done = true; } catch {
      box.focus();
      box.select();
      try { done = document.execCommand("copy"); } catch { /* the text stays selected */ }
    }
    $("copied").textContent = done ? "Copied: paste it at the end of the job." : "Select the text below and copy it.";
  });

  try {
    const before = JSON.parse(localStorage.getItem(kept));
    if (before) {
      points = before.points.filter(p => bare(p.name) === p.name && p.at.length === 3 && p.at.every(Number.isFinite));
      const choice = document.querySelector(`input[name=part][value=${before.part === "tray" ? "tray" : "body"}]`);
      choice.checked = true;
    }
  } catch { /* no store, or not ours */ }
  changed();
})();
