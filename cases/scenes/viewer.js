"use strict";
// Draws the parts of one scene with WebGL 2 and turns them. Lengths are mm; nothing is fetched.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const canvas = document.getElementById("scene");
  const leaders = document.getElementById("leaders");
  const gl = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
  if (!gl) {
    document.getElementById("failed").hidden = false;
    document.getElementById("stage").hidden = true;
    return;
  }

  const STEPS = 65535, TURN = Math.PI / 36, LABEL_GAP = 4;

  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

  // --- program ---------------------------------------------------------------------------------
  const VERTEX = `#version 300 es
    in vec3 place; in vec3 normal; in vec3 colour;
    uniform vec3 low, span, centre; uniform mat3 axes; uniform vec3 size;
    out vec3 seen_normal; out vec3 seen_colour;
    void main() {
      vec3 p = axes * (low + span * place - centre);
      gl_Position = vec4(p.x / size.x, p.y / size.y, -p.z / size.z, 1.0);
      seen_normal = axes * normal;
      seen_colour = colour;
    }`;
  const FRAGMENT = `#version 300 es
    precision highp float;
    in vec3 seen_normal; in vec3 seen_colour;
    uniform vec2 light; uniform float opacity; uniform bool flat_colour;
    out vec4 result;
    void main() {
      vec3 c = seen_colour;
      if (!flat_colour) {
        vec3 n = normalize(seen_normal);
        if (n.z < 0.0) n = -n;
        float lit = 0.75 * max(dot(n, normalize(vec3(-0.5, 0.9, 1.0))), 0.0)
                  + 0.3 * max(dot(n, normalize(vec3(1.0, 0.1, 0.8))), 0.0);
        c = min(c * (light.x + light.y * lit), 1.0);
      }
      result = vec4(c * opacity, opacity);
    }`;
  const shader = (kind, text) => {
    const one = gl.createShader(kind);
    gl.shaderSource(one, text);
    gl.compileShader(one);
    if (!gl.getShaderParameter(one, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(one));
    return one;
  };
  const program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER, VERTEX));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER, FRAGMENT));
  ["place", "normal", "colour"].forEach((name, k) => gl.bindAttribLocation(program, k, name));
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
  gl.useProgram(program);
  const at = Object.fromEntries(
    ["low", "span", "centre", "axes", "size", "light", "opacity", "flat_colour"].map((n) => [n, gl.getUniformLocation(program, n)])
  );

  // --- parts -----------------------------------------------------------------------------------
  const attribute = (index, text, kind) => {
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ARRAY_BUFFER, bytes(text), gl.STATIC_DRAW);
    gl.enableVertexAttribArray(index);
    gl.vertexAttribPointer(index, 3, kind, true, 0, 0);
  };
  const parts = data.parts.map((part) => {
    const own = { ...part, array: gl.createVertexArray(), is_line: "lines" in part };
    gl.bindVertexArray(own.array);
    attribute(0, part.places, gl.UNSIGNED_SHORT);
    if (part.normals) attribute(1, part.normals, gl.BYTE);
    if (part.colours) attribute(2, part.colours, gl.UNSIGNED_BYTE);
    const Cells = part.points <= STEPS ? Uint16Array : Uint32Array;
    const cells = new Cells(bytes(own.is_line ? part.lines : part.triangles));
    own.count = cells.length;
    own.kind = part.points <= STEPS ? gl.UNSIGNED_SHORT : gl.UNSIGNED_INT;
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, cells, gl.STATIC_DRAW);
    own.middle = part.low.map((low, k) => low + 0.5 * part.span[k]);
    return own;
  });
  gl.bindVertexArray(null);

  // --- what is shown ---------------------------------------------------------------------------
  const state = { axes: null, centre: [0, 0, 0], half: 1, cut: data.start.cut, off: new Set(), texts: true };
  const visible = (part) => part.cuts.includes(state.cut) && !state.off.has(part.what);
  let reach = 1;

  const corners = (part) => [0, 1, 2, 3, 4, 5, 6, 7].map((k) => part.low.map((low, i) => low + ((k >> i) & 1) * part.span[i]));
  const fit = () => {
    const points = parts.filter(visible).flatMap(corners);
    const seen = state.axes.map((axis) => points.map((p) => dot(axis, p)));
    const low = seen.map((row) => Math.min(...row)), high = seen.map((row) => Math.max(...row));
    const middle = low.map((v, k) => 0.5 * (v + high[k]));
    state.centre = [0, 1, 2].map((i) => middle.reduce((sum, m, k) => sum + m * state.axes[k][i], 0));
    reach = 2 * Math.hypot(...low.map((v, k) => high[k] - v)) + 1;
    const wide = canvas.clientWidth / Math.max(canvas.clientHeight, 1);
    state.half = 0.62 * Math.max(high[1] - low[1], (high[0] - low[0]) / wide, 1e-3);
  };
  const choose = (view) => {
    state.axes = data.views[view].map((row) => row.slice());
    document.querySelectorAll("[data-view]").forEach((b) => b.setAttribute("aria-pressed", String(b.dataset.view === view)));
    fit();
    draw();
  };
  const turned = () => document.querySelectorAll("[data-view]").forEach((b) => b.setAttribute("aria-pressed", "false"));

  // --- drawing ---------------------------------------------------------------------------------
  let asked = false;
  const draw = () => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => { asked = false; paint(); });
  };
  const paint = () => {
    const ratio = window.devicePixelRatio || 1;
    const width = Math.round(canvas.clientWidth * ratio), height = Math.round(canvas.clientHeight * ratio);
    if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
    gl.viewport(0, 0, width, height);
    gl.clearColor(1, 1, 1, 1);
    gl.depthMask(true);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    const a = state.axes;
    gl.uniformMatrix3fv(at.axes, false, [0, 1, 2].flatMap((i) => [a[0][i], a[1][i], a[2][i]]));
    gl.uniform3fv(at.centre, state.centre);
    gl.uniform3f(at.size, state.half * width / Math.max(height, 1), state.half, reach);
    const now = parts.filter(visible);
    const clear = now.filter((p) => p.opacity < 1).sort((p, q) => dot(a[2], p.middle) - dot(a[2], q.middle));
    for (const part of now) if (part.opacity >= 1) paint_part(part);
    gl.depthMask(false);
    for (const part of clear) {
      // of a body that is seen through, only the side towards the viewer
      if (part.what === "tooth") paint_hull(part); else paint_part(part);
    }
    gl.depthMask(true);
    place_texts();
  };
  const paint_hull = (part) => {
    gl.depthMask(true);
    gl.colorMask(false, false, false, false);
    paint_part(part);
    gl.colorMask(true, true, true, true);
    gl.depthMask(false);
    paint_part(part);
  };
  const paint_part = (part) => {
    gl.bindVertexArray(part.array);
    if (!part.colours) gl.vertexAttrib3f(2, ...part.colour.map((v) => v / 255));
    gl.uniform3fv(at.low, part.low);
    gl.uniform3fv(at.span, part.span);
    gl.uniform2fv(at.light, part.light);
    gl.uniform1f(at.opacity, part.opacity);
    gl.uniform1i(at.flat_colour, part.is_line ? 1 : 0);
    if (!part.is_line) { gl.enable(gl.POLYGON_OFFSET_FILL); gl.polygonOffset(1, 1); }
    gl.drawElements(part.is_line ? gl.LINES : gl.TRIANGLES, part.count, part.kind, 0);
    gl.disable(gl.POLYGON_OFFSET_FILL);
  };

  // --- texts: each near its place, none over another; what finds no room is in the table -------------
  const room = document.getElementById("texts");
  const texts = data.texts.map((text) => {
    const element = document.createElement("span");
    element.textContent = text.text;
    element.className = text.kind;
    element.style.color = text.colour;
    room.append(element);
    return { ...text, element };
  });
  const DIRECTIONS = [[0, -1], [0, 1], [1, 0], [-1, 0], [1, -1], [-1, -1], [1, 1], [-1, 1]];
  // Few texts may stand further off; of many, far ones would only be lines across each other.
  const DISTANCES = texts.length > 12 ? [8, 24, 44] : [8, 24, 44, 76, 110];
  const place_texts = () => {
    const width = canvas.clientWidth, height = canvas.clientHeight, scale = height / (2 * state.half);
    const taken = [];
    const scale_box = document.getElementById("stress");
    if (scale_box) {
      const own = scale_box.getBoundingClientRect(), home = canvas.getBoundingClientRect();
      taken.push([own.left - home.left, own.top - home.top, own.right - home.left, own.bottom - home.top]);
    }
    const lines = [];
    for (const text of texts) {
      const off = !state.texts || (state.off.has("force") && text.kind !== "name");
      const from = text.place.map((v, k) => v - state.centre[k]);
      const x = 0.5 * width + scale * dot(state.axes[0], from), y = 0.5 * height - scale * dot(state.axes[1], from);
      const w = text.element.offsetWidth, h = text.element.offsetHeight;
      let best = null;
      if (!off) {
        const wish = [dot(state.axes[0], text.away), -dot(state.axes[1], text.away)];
        const along = ([dx, dy]) => (dx * wish[0] + dy * wish[1]) / Math.hypot(dx, dy);
        const ways = DIRECTIONS.slice().sort((p, q) => along(q) - along(p));
        search: for (const further of DISTANCES) {
          const away = further + scale * text.clear;
          for (const [dx, dy] of ways) {
            const left = x + dx * (away + 0.5 * w) - 0.5 * w, top = y + dy * (away + 0.5 * h) - 0.5 * h;
            const box = [left - LABEL_GAP, top - LABEL_GAP, left + w + LABEL_GAP, top + h + LABEL_GAP];
            if (box[0] < 0 || box[1] < 0 || box[2] > width || box[3] > height) continue;
            if (taken.some((t) => t[0] < box[2] && box[0] < t[2] && t[1] < box[3] && box[1] < t[3])) continue;
            best = { left, top, box };
            break search;
          }
        }
      }
      text.element.style.visibility = best ? "visible" : "hidden";
      if (!best) continue;
      taken.push(best.box);
      text.element.style.transform = `translate(${best.left.toFixed(1)}px, ${best.top.toFixed(1)}px)`;
      const nx = Math.min(Math.max(x, best.left), best.left + w), ny = Math.min(Math.max(y, best.top), best.top + h);
      if (Math.hypot(nx - x, ny - y) > 22 + scale * text.clear) lines.push([x, y, nx, ny]);
    }
    leaders.replaceChildren(...lines.map(([x1, y1, x2, y2]) => {
      const line = document.createElementNS("http://www.w3.org/2000/svg", "line");
      for (const [name, value] of Object.entries({ x1, y1, x2, y2 })) line.setAttribute(name, value.toFixed(1));
      return line;
    }));
  };

  // --- turning, moving, coming nearer --------------------------------------------------------------
  const turn = (right, up) => {
    // about the picture's upright and level axes: the appliance follows the hand
    const spin = (i, j, angle) => {
      const c = Math.cos(angle), s = Math.sin(angle), p = state.axes[i], q = state.axes[j];
      state.axes[i] = p.map((v, k) => c * v + s * q[k]);
      state.axes[j] = p.map((v, k) => c * q[k] - s * v);
    };
    spin(0, 2, right);
    spin(1, 2, up);
    turned();
    draw();
  };
  const move = (right, up) => {
    const mm = 2 * state.half / Math.max(canvas.clientHeight, 1);
    state.centre = state.centre.map((v, k) => v - mm * (right * state.axes[0][k] - up * state.axes[1][k]));
    draw();
  };
  const nearer = (factor) => {
    state.half = Math.min(Math.max(state.half / factor, 0.05), reach);
    draw();
  };

  const held = new Map();
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    held.set(e.pointerId, [e.clientX, e.clientY]);
  });
  const let_go = (e) => held.delete(e.pointerId);
  canvas.addEventListener("pointerup", let_go);
  canvas.addEventListener("pointercancel", let_go);
  canvas.addEventListener("pointermove", (e) => {
    const before = held.get(e.pointerId);
    if (!before) return;
    const [dx, dy] = [e.clientX - before[0], e.clientY - before[1]];
    if (held.size === 2) {
      const other = [...held].find(([id]) => id !== e.pointerId)[1];
      const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]);
      nearer(apart([e.clientX, e.clientY]) / Math.max(apart(before), 1));
      move(0.5 * dx, 0.5 * dy);
    } else if (e.shiftKey || e.buttons & 2) move(dx, dy);
    else turn(-0.008 * dx, 0.008 * dy);
    held.set(e.pointerId, [e.clientX, e.clientY]);
  });
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  canvas.addEventListener("wheel", (e) => {
    e.preventDefault();
    nearer(Math.exp(-0.0012 * e.deltaY));
  }, { passive: false });

  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  canvas.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const way = WAYS[e.key], views = Object.keys(data.views);
    if (way && e.shiftKey) move(24 * way[0], 24 * way[1]);
    else if (way) turn(-TURN * way[0], TURN * way[1]);
    else if (e.key === "+" || e.key === "=") nearer(1.15);
    else if (e.key === "-") nearer(1 / 1.15);
    else if (e.key === "0") { fit(); draw(); }
    else if (views[Number(e.key) - 1]) choose(views[Number(e.key) - 1]);
    else return;
    e.preventDefault();
  });

  // --- controls --------------------------------------------------------------------------------
  document.querySelectorAll("[data-view]").forEach((b) => b.addEventListener("click", () => choose(b.dataset.view)));
  const cut = document.getElementById("cut");
  cut.value = state.cut;
  cut.addEventListener("change", () => { state.cut = cut.value; draw(); });
  document.getElementById("controls").addEventListener("submit", (e) => e.preventDefault());
  document.querySelectorAll("[data-switch]").forEach((box) => {
    const follow = () => {
      if (box.dataset.switch === "texts") state.texts = box.checked;
      for (const what of data.switches[box.dataset.switch]) state.off[box.checked ? "delete" : "add"](what);
    };
    follow();
    box.addEventListener("change", () => {
      follow();
      if (box.dataset.switch === "teeth") fit();
      draw();
    });
  });
  new ResizeObserver(draw).observe(canvas);
  choose(data.start.view);
})();
