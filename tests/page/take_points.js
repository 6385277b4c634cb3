"use strict";
(async () => {
  const told = {}, $ = id => document.getElementById(id), lines = () => $("lines").value;
  await frame();
  await frame();

  // Three places in line on the top of the box.
  const [x, y] = middle();
  for (const dx of [-60, 0, 60]) click([x + dx, y - 30]);
  told.first = lines();
  told.far = $("far").textContent;
  drag([x, y], [x + 150, y + 40]);
  told.after_drag = lines();
  click([x + 20, y + 10]);
  wheel([x + 20, y + 10], -600);
  click([x + 20, y + 10]);
  told.zoomed = lines();

  // Names, the tray, and points taken out again.
  $("undo").click();
  $("undo").click();
  const inputs = () => [...document.querySelectorAll("#list input")];
  set(inputs()[0], "l\u00e9ft corner-1\u20ac]", "input");
  set(inputs()[1], "p3", "input");
  set(inputs()[1], "p3", "change");
  document.querySelector("input[value=tray]").click();
  told.edited = lines();
  while (document.querySelector("#list button")) document.querySelector("#list button").click();
  told.left = document.querySelectorAll("#list tr").length;
  press("Home");
  press("ArrowLeft");
  press("ArrowUp", { shiftKey: true });
  press("Enter");
  told.keyboard = document.querySelectorAll("#list tr").length;
  await frame();
  tell(told);
})();
