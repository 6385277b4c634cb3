"use strict";
(async () => {
  const root = document.querySelector(".model"), told = {};
  root.style.height = "600px";
  const view = openModel(root);
  let last = null;
  view.onPick = hit => { last = hit; };
  const at = point => { click(view.where(point)); return last; };
  await frame();
  await frame();
  // A place on the high box's top.
  const top = [20, 10, 200];
  told.both = at(top);
  const box = root.querySelector("[data-part='1']");
  box.click();
  told.hidden = at(top);
  box.click();
  told.shown = at(top);
  set(root.querySelector("[data-way=apart]"), "100", "input");
  await frame();
  told.apart = at([20, 10, 800]);
  tell(told);
})();
