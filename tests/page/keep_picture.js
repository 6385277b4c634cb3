"use strict";
// Lets a test read what the page has drawn: without this a browser may clear it once it is on the screen.
const plain = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, wishes) {
  return plain.call(this, kind, { ...wishes, preserveDrawingBuffer: true });
};
