"use strict";
// A hand for the tests: events as a browser would send them, through the page's own handlers.
const canvas = document.querySelector("canvas");
const middle = () => [canvas.clientWidth / 2, canvas.clientHeight / 2];
function send(type, [x, y], more) {
  const box = canvas.getBoundingClientRect();
  canvas.dispatchEvent(new PointerEvent(type, {
    bubbles: true, cancelable: true, pointerId: 1, isPrimary: true, pointerType: "mouse",
    clientX: Math.round(box.left + x), clientY: Math.round(box.top + y), button: 0, buttons: type === "pointerup" ? 0 : 1, ...more,
  }));
}
function click(place) { send("pointerdown", place); send("pointerup", place); }
function drag(from, to) {
  send("pointerdown", from);
  for (let i = 1; i <= 10; i++) send("pointermove", from.map((v, k) => v + (to[k] - v) * i / 10));
  send("pointerup", to);
}
function wheel([x, y], deltaY) {
  const box = canvas.getBoundingClientRect();
  canvas.dispatchEvent(new WheelEvent("wheel", { bubbles: true, cancelable: true, clientX: Math.round(box.left + x), clientY: Math.round(box.top + y), deltaY }));
}
function press(key, more) { canvas.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true, ...more })); }
function set(control, value, type) { control.value = value; control.dispatchEvent(new Event(type, { bubbles: true })); }
const frame = () => new Promise(done => requestAnimationFrame(done));
function tell(what) {
  const pre = document.body.appendChild(document.createElement("pre"));
  pre.id = "told";
  pre.textContent = JSON.stringify(what);
}
