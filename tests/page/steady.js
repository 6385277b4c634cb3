"use strict";
// Before the page's own scripts. A browser without a screen may stop giving frames, so frames come by the
// clock; and it may clear what was drawn once it was shown, which a test wants to read.
window.requestAnimationFrame = draw => setTimeout(() => draw(performance.now()), 16);
const plain = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, wishes) {
  return plain.call(this, kind, { ...wishes, preserveDrawingBuffer: true });
};
