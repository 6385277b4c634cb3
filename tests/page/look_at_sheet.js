"use strict";
(async () => {
  const root = document.querySelector(".model"), told = {};
  await frame();
  await frame();
  told.turns = root.classList.contains("turns");
  const boxes = [...root.querySelectorAll("input[type=checkbox]")];
  const named = box => box.closest("label").textContent.trim();
  told.boxes = boxes.map(named);
  told.shown = Object.fromEntries(boxes.map(box => [named(box), box.checked]));
  const labels = () => [...root.querySelectorAll("text.name")];
  told.labels = labels().length;
  const far = () => {
    const at = labels().map(text => [+text.getAttribute("x"), +text.getAttribute("y")]);
    const [a, b] = [at[0], at[at.length - 1]];
    return Math.hypot(a[0] - b[0], a[1] - b[1]);
  };
  told.together = far();
  set(root.querySelector("[data-way=apart]"), "100", "input");
  await frame();
  await frame();
  told.apart = far();
  const controls = [...document.querySelectorAll("button, input, canvas, a[href], [tabindex]")];
  told.nameless = controls
    .filter(e => !(e.getAttribute("aria-label") || e.closest("label") || e.textContent.trim()))
    .map(e => e.outerHTML.slice(0, 80));
  document.body.style.width = "390px";
  await frame();
  const wide = [...document.querySelectorAll("main > *, section > *")].filter(e => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX === "visible" && e.clientWidth > 0);
  told.sideways = wide.length > 0 && wide.map(e => e.outerHTML.slice(0, 120));
  tell(told);
})();
