"use strict";
const still = document.querySelector(".still");
tell({
  turns: document.querySelector(".model").classList.contains("turns"),
  dots: [...still.querySelectorAll("path")].reduce((n, p) => n + p.getAttribute("d").split("M").length - 1, 0),
  says: getComputedStyle(still).display !== "none" && still.textContent,
});
