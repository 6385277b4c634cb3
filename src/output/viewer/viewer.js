"use strict";
// A model that turns under the hand. openModel(element) draws what the element's JSON holds and gives
// back an object to steer it, or null where the browser cannot draw in three dimensions; the still
// picture then stays.
//
// Lengths are those of the model's own unit. The view is a parallel projection: `turn` holds three unit
// vectors (to the right, up, and toward the eye), `middle` is the point of the model in the middle of
// the window and `scale` is in window pixels for one unit.

const SHADE_VERTEX = `#version 300 es
in vec3 at;
uniform mat3 turn;
uniform vec3 shift, zoom;
uniform vec2 middle;
uniform float nearer;
out vec3 seen;
void main() {
  seen = turn * (at + shift);
  gl_Position = vec4((seen.xy - middle) * zoom.xy, -seen.z * zoom.z - nearer, 1.0);
}`;

// Normals come from the surface itself, pixel by pixel. A face seen from behind is hatched.
const SHADE_FRAGMENT = `#version 300 es
precision highp float;
in vec3 seen;
uniform vec3 lit, shade, line;
uniform float flat_, pitch;
out vec4 colour;
void main() {
  if (flat_ > 0.5) { colour = vec4(line, 1.0); return; }
  vec3 n = normalize(cross(dFdx(seen), dFdy(seen)));
  if (n.z < 0.0) n = -n;
  float light = clamp(dot(n, normalize(vec3(-0.7, 0.5, 0.5))), 0.0, 1.0);
  vec3 c = mix(shade, lit, 0.15 + 0.85 * light);
  c = mix(shade, c, smoothstep(-0.1, 0.3, n.z));
  if (!gl_FrontFacing) {
    c = mix(c, shade, 0.6);
    if (fract((gl_FragCoord.x + gl_FragCoord.y) / pitch) < 0.3) c = mix(c, line, 0.6);
  }
  colour = vec4(c, 1.0);
}`;

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const along = (a, t, d) => [a[0] + t * d[0], a[1] + t * d[1], a[2] + t * d[2]];
const unit = a => along([0, 0, 0], 1 / (Math.hypot(...a) || 1), a);

function unpack(text, Kind) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return new Kind(bytes.buffer);
}

// Parts with points from the middle of the model, which keeps 32-bit numbers sharp.
function readModel(data) {
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  const parts = data.parts.map(p => {
    const Kind = p.wide ? Uint32Array : Uint16Array;
    const steps = unpack(p.points, Uint16Array);
    for (let i = 0; i < steps.length; i++) {
      const k = i % 3, v = p.offset[k] + steps[i] * p.step[k];
      if (v < low[k]) low[k] = v;
      if (v > high[k]) high[k] = v;
    }
    return {
      name: p.name, tone: p.tone, away: p.away, offset: p.offset, step: p.step, shown: p.shown, label: p.label, wide: p.wide,
      steps, triangles: unpack(p.triangles, Kind), lines: unpack(p.lines, Kind),
    };
  });
  const centre = low.map((v, k) => Number.isFinite(v) ? (v + high[k]) / 2 : 0);
  const half = high.map((v, k) => Number.isFinite(v) ? v - centre[k] : 0);
  for (const p of parts) {
    p.points = Float32Array.from(p.steps, (q, i) => p.offset[i % 3] + q * p.step[i % 3] - centre[i % 3]);
  }
  return { parts, centre, radius: Math.hypot(...half) || 1 };
}

function buildProgram(gl) {
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, SHADE_VERTEX], [gl.FRAGMENT_SHADER, SHADE_FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  gl.bindAttribLocation(program, 0, "at");
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return null;
  const at = {};
  for (const name of ["turn", "shift", "zoom", "middle", "nearer", "lit", "shade", "line", "flat_", "pitch"]) {
    at[name] = gl.getUniformLocation(program, name);
  }
  return { program, at };
}

function upload(gl, part) {
  const buffer = (target, data) => {
    const b = gl.createBuffer();
    gl.bindBuffer(target, b);
    gl.bufferData(target, data, gl.STATIC_DRAW);
    return b;
  };
  const array = indices => {
    const a = gl.createVertexArray();
    gl.bindVertexArray(a);
    gl.bindBuffer(gl.ARRAY_BUFFER, part.buffer);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    buffer(gl.ELEMENT_ARRAY_BUFFER, indices);
    gl.bindVertexArray(null);
    return a;
  };
  part.buffer = buffer(gl.ARRAY_BUFFER, part.points);
  part.faces = array(part.triangles);
  part.edges = array(part.lines);
}

// The page's colours, as its style sheet has them for the reader's theme.
function pageColours(element) {
  const style = getComputedStyle(element);
  const read = name => {
    const n = parseInt(style.getPropertyValue(name).trim().slice(1), 16) || 0;
    return [(n >> 16 & 255) / 255, (n >> 8 & 255) / 255, (n & 255) / 255];
  };
  const ink = read("--ink"), paper = read("--paper"), accent = read("--accent");
  const between = (a, b, t) => a.map((v, k) => v + t * (b[k] - v));
  const dark = paper[0] < 0.5;
  const tone = {
    pale: dark ? [0.6, 0.12] : [0.05, 0.72],
    grey: dark ? [0.45, 0.09] : [0.24, 0.82],
    deep: dark ? [0.32, 0.06] : [0.4, 0.85],
  };
  const of = name => {
    if (name === "accent") return { lit: [0.91, 0.73, 0.59], shade: [0.45, 0.33, 0.25] }; // As in the pictures.
    const [lit, shade] = tone[name] || tone.pale;
    return { lit: between(paper, ink, lit), shade: between(paper, ink, shade) };
  };
  return { paper, line: ink, hatch: dark ? paper : ink, of };
}

function openModel(root) {
  const data = JSON.parse(root.querySelector("script").textContent);
  const canvas = root.querySelector("canvas");
  const gl = canvas.getContext("webgl2", { antialias: true, alpha: false });
  let shader = gl && buildProgram(gl);
  if (!shader) return null;
  const { parts, centre, radius } = readModel(data);
  parts.forEach(part => upload(gl, part));
  root.classList.add("turns");

  let turn, middle, scale, apart = 0, moved = false, colours = pageColours(root), waiting = false, settle = 0;
  let marks = [], link = null, labels = [];
  const over = root.querySelector("svg.over");
  const view = { parts, onPick: null };

  // ---- where things are -------------------------------------------------------------------------
  const reach = () => radius + apart * Math.max(0, ...parts.map(p => Math.hypot(...p.away)));
  const shiftOf = part => part.away.map(v => apart * v);
  const fromCentre = p => p.map((v, k) => v - centre[k]);
  const onWindow = p => {
    const d = along(fromCentre(p), -1, middle);
    return [canvas.clientWidth / 2 + dot(d, turn[0]) * scale, canvas.clientHeight / 2 - dot(d, turn[1]) * scale];
  };

  function whole() {
    const r = unit(data.across), u = unit(along(data.up, -dot(data.up, r), r)), d = cross(r, u);
    turn = [r, u, d];
    spin(0, 0.45);
    spin(1, -0.5);
    middle = [0, 0, 0];
    moved = false;
    fit();
  }
  // The largest scale at which the shown parts fill the window.
  function fit() {
    const low = [Infinity, Infinity], high = [-Infinity, -Infinity];
    for (const part of parts.filter(p => p.shown)) {
      const s = shiftOf(part), n = part.points.length / 3, stride = Math.max(1, Math.floor(n / 20000));
      for (let i = 0; i < n; i += stride) {
        for (let k = 0; k < 2; k++) {
          const t = turn[k];
          const v = t[0] * (part.points[3 * i] + s[0]) + t[1] * (part.points[3 * i + 1] + s[1]) + t[2] * (part.points[3 * i + 2] + s[2]);
          if (v < low[k]) low[k] = v;
          if (v > high[k]) high[k] = v;
        }
      }
    }
    const size = low.map((v, k) => Number.isFinite(v) ? Math.max(high[k] - v, 1e-9 * radius) : 2 * radius);
    const mid = low.map((v, k) => Number.isFinite(v) ? (v + high[k]) / 2 : 0);
    const depth = dot(middle, turn[2]);
    middle = along(along(along([0, 0, 0], mid[0], turn[0]), mid[1], turn[1]), depth, turn[2]);
    scale = 0.88 * Math.min(canvas.clientWidth / size[0], canvas.clientHeight / size[1]) || 1;
  }
  // Turns the model about a direction of the window: 0 to the right, 1 up, 2 toward the eye.
  function spin(axis, angle) {
    moved = true;
    const [p, q] = [[1, 2], [2, 0], [0, 1]][axis];
    const c = Math.cos(angle), s = Math.sin(angle), a = turn[p], b = turn[q];
    turn[p] = unit(along(a.map(v => c * v), -s, b));
    turn[q] = unit(along(b.map(v => c * v), s, a));
  }
  function slide(dx, dy) {
    moved = true;
    middle = along(along(middle, -dx / scale, turn[0]), dy / scale, turn[1]);
  }
  // Zooms by a factor and keeps what is under (x, y) where it is.
  function zoom(factor, x = canvas.clientWidth / 2, y = canvas.clientHeight / 2) {
    const fitted = Math.min(canvas.clientWidth, canvas.clientHeight) / (2 * reach());
    const next = Math.min(Math.max(scale * factor, 0.2 * fitted), 4000 * fitted);
    const dx = x - canvas.clientWidth / 2, dy = y - canvas.clientHeight / 2;
    const k = 1 / scale - 1 / next;
    middle = along(along(middle, dx * k, turn[0]), -dy * k, turn[1]);
    scale = next;
    moved = true;
  }

  // ---- drawing ----------------------------------------------------------------------------------
  function draw() {
    waiting = false;
    const ratio = Math.min(window.devicePixelRatio || 1, 2.5);
    const w = Math.max(1, Math.round(canvas.clientWidth * ratio)), h = Math.max(1, Math.round(canvas.clientHeight * ratio));
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    gl.viewport(0, 0, w, h);
    gl.clearColor(...colours.paper, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    const { program, at } = shader;
    gl.useProgram(program);
    const [r, u, d] = turn;
    gl.uniformMatrix3fv(at.turn, false, [r[0], u[0], d[0], r[1], u[1], d[1], r[2], u[2], d[2]]);
    gl.uniform2f(at.middle, dot(middle, r), dot(middle, u));
    gl.uniform3f(at.zoom, 2 * scale * ratio / w, 2 * scale * ratio / h, 0.98 / reach());
    gl.uniform1f(at.pitch, 7 * ratio);
    for (const part of parts) {
      if (!part.shown) continue;
      const tone = colours.of(part.tone), kind = part.wide ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT;
      gl.uniform3f(at.shift, ...shiftOf(part));
      gl.uniform3f(at.lit, ...tone.lit);
      gl.uniform3f(at.shade, ...tone.shade);
      gl.uniform3f(at.line, ...colours.hatch);
      gl.uniform1f(at.flat_, 0);
      gl.uniform1f(at.nearer, 0);
      gl.bindVertexArray(part.faces);
      gl.drawElements(gl.TRIANGLES, part.triangles.length, kind, 0);
      gl.uniform3f(at.line, ...colours.line);
      gl.uniform1f(at.flat_, 1);
      gl.uniform1f(at.nearer, 0.0015);
      gl.bindVertexArray(part.edges);
      gl.drawElements(gl.LINES, part.lines.length, kind, 0);
    }
    gl.bindVertexArray(null);
    drawBar();
    drawMarks();
  }
  function again() {
    if (!waiting) { waiting = true; requestAnimationFrame(draw); }
    clearTimeout(settle);
    settle = setTimeout(dimHidden, 150);
  }
  // A bar of 1, 2 or 5 times a power of ten millimetres.
  function drawBar() {
    const bar = root.querySelector(".bar"), perMm = scale / data.mm;
    const room = Math.max(40, Math.min(160, canvas.clientWidth / 3)) / perMm, ten = 10 ** Math.floor(Math.log10(room));
    const mm = [5, 2, 1].map(k => k * ten).find(v => v <= room) || ten;
    bar.querySelector("i").style.width = `${mm * perMm}px`;
    bar.querySelector("b").textContent = `${+mm.toPrecision(1)} mm`;
  }
  function drawMarks() {
    marks.forEach(m => {
      const [x, y] = onWindow(m.at);
      m.g.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
      // The name stays inside the window.
      const left = x > canvas.clientWidth * 0.7;
      m.text.setAttribute("x", left ? -8 : 8);
      m.text.setAttribute("text-anchor", left ? "end" : "start");
    });
    for (const { part, text } of labels) {
      const [x, y] = onWindow(along(part.label.at, 1, shiftOf(part)));
      text.setAttribute("x", x.toFixed(1));
      text.setAttribute("y", y.toFixed(1));
      text.style.display = part.shown ? "" : "none";
    }
    if (link) {
      const [a, b] = link.ends.map(onWindow);
      for (const [k, v] of [["x1", a[0]], ["y1", a[1]], ["x2", b[0]], ["y2", b[1]]]) link.line.setAttribute(k, v.toFixed(1));
    }
  }
  // Marks behind the surface are drawn fainter, once the model rests.
  function dimHidden() {
    for (const m of marks) {
      const hit = pick(...onWindow(m.at));
      const depth = p => dot(fromCentre(p), turn[2]);
      m.g.classList.toggle("behind", !!hit && depth(hit.seen) - depth(m.at) > 0.004 * radius);
    }
  }

  // ---- picking ----------------------------------------------------------------------------------
  // The point of the shown surface nearest the eye under a place of the window; null where there is none.
  function pick(x, y) {
    const px = (x - canvas.clientWidth / 2) / scale + dot(middle, turn[0]);
    const py = (canvas.clientHeight / 2 - y) / scale + dot(middle, turn[1]);
    let best = null, top = -Infinity;
    parts.forEach((part, number) => {
      if (!part.shown) return;
      const s = shiftOf(part), n = part.points.length / 3, P = part.points, T = part.triangles;
      const sx = dot(s, turn[0]) - px, sy = dot(s, turn[1]) - py, sz = dot(s, turn[2]);
      const X = new Float64Array(n), Y = new Float64Array(n), Z = new Float64Array(n);
      const [r, u, d] = turn;
      for (let i = 0, k = 0; i < n; i++, k += 3) {
        X[i] = r[0] * P[k] + r[1] * P[k + 1] + r[2] * P[k + 2] + sx;
        Y[i] = u[0] * P[k] + u[1] * P[k + 1] + u[2] * P[k + 2] + sy;
        Z[i] = d[0] * P[k] + d[1] * P[k + 1] + d[2] * P[k + 2] + sz;
      }
      for (let t = 0; t < T.length; t += 3) {
        const a = T[t], b = T[t + 1], c = T[t + 2];
        // Twice the areas of the three triangles the pointer makes with the corners.
        const wa = X[b] * Y[c] - X[c] * Y[b], wb = X[c] * Y[a] - X[a] * Y[c], wc = X[a] * Y[b] - X[b] * Y[a];
        if ((wa < 0 || wb < 0 || wc < 0) && (wa > 0 || wb > 0 || wc > 0)) continue;
        const sum = wa + wb + wc;
        if (sum === 0) continue;
        const depth = (wa * Z[a] + wb * Z[b] + wc * Z[c]) / sum;
        if (depth > top) { top = depth; best = { number, part, corners: [a, b, c], weights: [wa / sum, wb / sum, wc / sum] }; }
      }
    });
    if (!best) return null;
    const { part, corners, weights } = best;
    const at = [0, 1, 2].map(k => part.offset[k] + part.step[k] * corners.reduce((v, c, j) => v + weights[j] * part.steps[3 * c + k], 0));
    return { part: best.number, at, seen: along(at, 1, shiftOf(part)) };
  }
  function take(x, y) {
    const hit = pick(x, y);
    if (view.onPick) view.onPick(hit);
  }
  // Turning goes about the surface in the middle of the window, not about something behind it.
  function holdMiddle() {
    const hit = pick(canvas.clientWidth / 2, canvas.clientHeight / 2);
    if (hit) middle = along(middle, dot(along(fromCentre(hit.seen), -1, middle), turn[2]), turn[2]);
  }

  // ---- hands ------------------------------------------------------------------------------------
  const hands = new Map();
  let path = 0, many = false;
  const place = e => { const box = canvas.getBoundingClientRect(); return [e.clientX - box.left, e.clientY - box.top]; };
  canvas.addEventListener("pointerdown", e => {
    canvas.focus({ preventScroll: true });
    try { canvas.setPointerCapture(e.pointerId); } catch { /* a pointer that is gone already */ }
    if (hands.size === 0) { path = 0; many = false; holdMiddle(); }
    hands.set(e.pointerId, place(e));
    many = many || hands.size > 1;
  });
  canvas.addEventListener("pointermove", e => {
    const before = hands.get(e.pointerId);
    if (!before) return;
    const now = place(e), dx = now[0] - before[0], dy = now[1] - before[1];
    // A hand that trembles while it clicks does not turn the model: `before` stays the first place.
    path = Math.max(path, Math.hypot(dx, dy));
    if (path < (e.pointerType === "touch" ? 10 : 4) && !many) return;
    if (hands.size > 1) {
      const other = [...hands].find(([id]) => id !== e.pointerId)[1];
      const gap = p => Math.hypot(p[0] - other[0], p[1] - other[1]) || 1;
      zoom(gap(now) / gap(before), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
      slide(dx / 2, dy / 2);
    } else if (e.shiftKey || e.buttons & 6) {
      slide(dx, dy);
    } else {
      const full = Math.PI / Math.max(200, Math.min(canvas.clientWidth, canvas.clientHeight));
      spin(1, dx * full);
      spin(0, dy * full);
    }
    hands.set(e.pointerId, now);
    again();
  });
  const lift = e => {
    if (!hands.delete(e.pointerId)) return;
    const still = path < (e.pointerType === "touch" ? 10 : 4) && !many;
    if (e.type === "pointerup" && hands.size === 0 && still && e.button === 0 && !e.shiftKey) take(...place(e));
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", e => e.preventDefault());
  canvas.addEventListener("wheel", e => {
    // In a page that scrolls the wheel is the page's until the model is clicked.
    if (!root.classList.contains("alone") && document.activeElement !== canvas && !e.ctrlKey) return;
    e.preventDefault();
    const lines = e.deltaMode === 1 ? 30 : 1;
    zoom(Math.exp(-e.deltaY * lines * (e.ctrlKey ? 0.01 : 0.0015)), ...place(e));
    again();
  }, { passive: false });
  canvas.addEventListener("keydown", e => {
    if (e.ctrlKey || e.altKey || e.metaKey) return;
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (step && e.shiftKey) slide(-40 * step[0], -40 * step[1]);
    else if (step) { holdMiddle(); spin(1, 0.12 * step[0]); spin(0, 0.12 * step[1]); }
    else if (e.key === "+" || e.key === "=") zoom(1.25);
    else if (e.key === "-") zoom(0.8);
    else if (e.key === "Home" || e.key === "0") whole();
    else if (e.key === "Enter") take(canvas.clientWidth / 2, canvas.clientHeight / 2);
    else return;
    e.preventDefault();
    again();
  });
  const ways = {
    nearer: () => zoom(1.4),
    farther: () => zoom(1 / 1.4),
    whole,
    over: () => { holdMiddle(); spin(0, Math.PI); },
    show: e => { for (const i of e.target.dataset.part.split(" ")) parts[+i].shown = e.target.checked; },
    apart: e => { apart = +e.target.value / 100; },
  };
  for (const control of root.querySelectorAll("[data-way]")) {
    control.addEventListener(control.tagName === "BUTTON" ? "click" : "input", e => { ways[control.dataset.way](e); again(); });
  }

  // ---- the world around -------------------------------------------------------------------------
  let wide = [canvas.clientWidth, canvas.clientHeight];
  new ResizeObserver(() => {
    const now = [canvas.clientWidth, canvas.clientHeight];
    if (moved) scale *= Math.min(...now) / Math.min(...wide) || 1; else fit();
    wide = now.map(v => Math.max(v, 1));
    // At once: a frame later the old picture would have been stretched to the new size.
    draw();
  }).observe(canvas);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { colours = pageColours(root); again(); });
  canvas.addEventListener("webglcontextlost", e => { e.preventDefault(); root.classList.remove("turns"); });
  canvas.addEventListener("webglcontextrestored", () => {
    shader = buildProgram(gl);
    if (!shader) return;
    parts.forEach(part => upload(gl, part));
    root.classList.add("turns");
    again();
  });

  const make = (name, parent, attributes) => {
    const e = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    return parent.appendChild(e);
  };
  // Puts crosses with names on the model, and a line between two places.
  view.mark = (list, ends) => {
    over.replaceChildren(...labels.map(l => l.text));
    link = ends ? { ends, line: make("line", over, {}) } : null;
    marks = list.map(({ at, name }) => {
      const g = make("g", over, {}), d = "M-9 0H-2M2 0H9M0-9V-2M0 2V9";
      make("path", g, { d, class: "halo" });
      make("path", g, { d });
      const text = make("text", g, { y: -8 });
      text.textContent = name;
      return { at, g, text };
    });
    drawMarks();
    again();
  };
  // What is written beside a part goes with it.
  labels = parts.filter(p => p.label).map(part => {
    const text = make("text", over, { "text-anchor": "middle", class: "name" });
    text.textContent = part.label.text;
    return { part, text };
  });
  view.where = onWindow;
  whole();
  again();
  return view;
}
