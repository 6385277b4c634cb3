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
  // A frame as wide as a phone has the rules of one.
  const frameOf = document.createElement("iframe");
  frameOf.style.cssText = "width:390px;height:844px;border:0";
  frameOf.srcdoc = document.documentElement.outerHTML.replace(/<script[\s\S]*?<\/script>/g, "").replace(/<body[^>]*>/, "<body>");
  const loaded = new Promise(done => { frameOf.onload = done; });
  document.body.append(frameOf);
  await loaded;
  const small = frameOf.contentDocument;
  told.phone = small.documentElement.scrollWidth;
  const boxes390 = [...small.querySelectorAll("td.write")].map(e => e.getBoundingClientRect());
  told.write = boxes390.length;
  told.unseen = boxes390.filter(b => b.right > 390 || b.width < 200 || b.height < 40).length;
  tell(told);
})();
