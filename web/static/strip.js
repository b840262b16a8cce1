// The strip: chamber as read, metal as estimated, setpoint as it was and as planned, walls, marks. From start to the end of the plan,
// no pan, no zoom; a tap writes that minute's values beneath.

import { Metal } from "./metal.js";
import { wall } from "./wall.js";

const RELOAD_AFTER = 900; // points added by hand before the log is asked again
const AGAIN_MS = 10000; // a curve that did not come is asked for again
const f = (c) => c * 1.8 + 32;

export class Strip {
  constructor(figure, minute) {
    this.figure = figure;
    this.minute = minute;
    this.fahrenheit = figure.dataset.units === "F";
    this.firing = null;
    this.point = null;
    this.added = 0;
    this.loading = false;
    this.failedAt = -Infinity;
    this.metal = new Metal(this);
    this.fixed = Number(figure.dataset.firing) || null; // the page of one melt shows that one, whatever runs
    const first = this.fixed || Number(figure.dataset.before); // before: what was cut, until the next firing begins
    if (first) this.load(first);
    new ResizeObserver(() => this.size()).observe(figure);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.plot?.redraw());
  }

  async load(firing) {
    if (this.loading) return;
    this.loading = true;
    try {
      const [answer] = await Promise.all([fetch(`/strip/${firing}.json`), chart()]);
      if (!answer.ok) throw new Error(answer.statusText);
      this.curve = await answer.json();
      this.firing = firing;
      this.added = 0;
      this.draw();
    } catch {
      this.curve ??= null;
      this.failedAt = performance.now();
      if (!this.plot) this.say("No curve: the log does not give it now. The figures are the furnace’s own.");
    }
    this.loading = false;
  }

  say(sentence) {
    const said = document.createElement("p");
    said.className = "said";
    said.textContent = sentence;
    this.figure.replaceChildren(said);
  }

  append(point) {
    if (this.fixed && point?.firing !== this.fixed) return;
    const was = this.point;
    this.point = point;
    if (was?.live && !point?.live && this.curve) this.draw(); // its plan will not come true any more
    if (!point) return;
    if (point.firing !== this.firing || this.added > RELOAD_AFTER) {
      if (performance.now() - this.failedAt > AGAIN_MS) this.load(point.firing);
      return;
    }
    if (!point.live) {
      if (point.pour_to_in_s !== was?.pour_to_in_s) this.draw();
      return;
    }
    const { t_s, c, setpoint_c } = this.curve.points;
    if (point.t_s - (t_s.at(-1) ?? -1) >= 1) {
      t_s.push(point.t_s);
      c.push(point.c);
      setpoint_c.push(point.setpoint_c);
      this.added += 1;
      this.metal.append(point);
    }
    this.draw();
  }

  x(u, t_s) { return u.valToPos(this.at(t_s), "x", true); }

  y(u, c) { return u.valToPos(this.fahrenheit ? f(c) : c, "y", true); }

  at(t_s) {
    return this.curve.started_utc_ms / 1000 + this.curve.offset_s + t_s; // local time, drawn as UTC
  }

  data() {
    const { t_s, c, setpoint_c } = this.curve.points;
    const show = (v) => (v === null || v === undefined ? null : this.fahrenheit ? f(v) : v);
    const x = t_s.map((t) => this.at(t)), read = c.map(show), set = setpoint_c.map(show);
    const last = t_s.at(-1) ?? 0;
    for (const [in_s, planned] of this.point?.ahead ?? []) {
      if (in_s <= 0) continue;
      x.push(this.at(last + in_s));
      read.push(null);
      set.push(show(planned));
    }
    const pour = this.point?.look ? this.point.t_s + (this.point.pour_to_in_s ?? 0) : 0;
    const end = this.at(Math.max(last + this.metal.ends_s(), pour));
    if (end > (x.at(-1) ?? Infinity)) { x.push(end); read.push(null); set.push(null); }
    return [x, read, set];
  }

  size() {
    const width = this.figure.clientWidth;
    if (this.plot && width) this.plot.setSize({ width, height: height(width) });
  }

  draw() {
    if (!window.uPlot || !this.curve.points.t_s.length) return;
    if (this.plot) this.plot.setData(this.data());
    else this.make();
  }

  make() {
    const width = this.figure.clientWidth || 340;
    const token = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
    const axis = { stroke: () => token("pencil"), font: this.font(1), ticks: { stroke: () => token("ink"), size: 5 } };
    const two = (n) => String(n).padStart(2, "0");
    const clock = (v) => { const d = new Date(v * 1000); return `${two(d.getUTCHours())}:${two(d.getUTCMinutes())}`; };
    this.token = token;
    this.clock = clock;
    this.figure.replaceChildren();
    this.figure.closest(".empty")?.classList.remove("empty");
    this.plot = new window.uPlot({
      width, height: height(width),
      padding: [this.fixed ? 8 : 20, 16, 0, 0], // above: the promise, from now
      legend: { show: false },
      cursor: { drag: { x: false, y: false }, y: false, points: { show: false } },
      scales: { x: { time: false }, y: { range: (u, low, high) => this.range(low, high) } },
      axes: [
        { ...axis, grid: { show: false }, space: 58, incrs: [60, 120, 300, 600, 900, 1800, 3600, 7200, 14400], values: (u, at) => at.map(clock), size: 24 },
        { ...axis, grid: { stroke: () => token("grid"), width: 1 }, space: 36, size: 38, ticks: { show: false } },
      ],
      series: [
        {},
        { stroke: () => token("ink"), width: 3, spanGaps: false, points: { show: false } },
        { stroke: () => token("blue"), width: 1.8, dash: [14, 4, 2, 4, 2, 4], points: { show: false } },
      ],
      hooks: { drawAxes: [(u) => this.ground(u)], draw: [(u) => this.marks(u)] },
    }, this.data(), this.figure);
    this.plot.over.addEventListener("click", (e) => this.tell(e.offsetX));
  }

  font(ratio) {
    return `${12 * ratio}px ${getComputedStyle(document.body).fontFamily}`;
  }

  walls() {
    const show = (v) => (v === null || v === undefined ? null : this.fahrenheit ? f(v) : v);
    const set = this.figure.dataset, charge = this.curve.charge ?? {};
    const number = (v) => (v ? Number(v) : null);
    return {
      limiter: show(number(set.limiter)),
      solidus: show(charge.solidus_c), liquidus: show(charge.liquidus_c),
      gate: ["shut", "asked"].includes(this.point?.gate.state) ? show(this.point.gate.limit_c) : null,
    };
  }

  range(low, high) {
    const { limiter } = this.walls();
    return [Math.min(0, low ?? 0), Math.max(high ?? 100, (limiter ?? 100) * 1.04)];
  }

  ground(u) {
    const { ctx, bbox } = u, y = (v) => u.valToPos(v, "y", true), { limiter, solidus, liquidus, gate } = this.walls();
    const ratio = devicePixelRatio, unit = this.fahrenheit ? "°F" : "°C";
    ctx.save();
    ctx.setLineDash([]);
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    ctx.font = this.font(ratio);
    ctx.textAlign = "left";
    ctx.textBaseline = "alphabetic";
    ctx.fillStyle = this.token("pencil");
    const label = (text, at) => {
      ctx.strokeStyle = this.token("paper");
      ctx.lineWidth = 4 * ratio;
      ctx.lineJoin = "round";
      ctx.strokeText(text, bbox.left + 4 * ratio, at);
      ctx.fillText(text, bbox.left + 4 * ratio, at);
    };
    if (solidus && liquidus) {
      ctx.fillStyle = this.token("range");
      ctx.fillRect(bbox.left, y(liquidus), bbox.width, y(solidus) - y(liquidus));
      ctx.strokeStyle = this.token("hair");
      ctx.lineWidth = ratio;
      ctx.strokeRect(bbox.left, y(liquidus), bbox.width, y(solidus) - y(liquidus));
      ctx.fillStyle = this.token("pencil");
      label(`melts ${Math.round(solidus)}–${Math.round(liquidus)} ${unit}`, y(liquidus) - 5 * ratio);
    }
    if (limiter) {
      wall(ctx, bbox.left, bbox.left + bbox.width, y(limiter), 9 * ratio, this.token("ink"), ratio);
      label(`limiter ${Math.round(limiter)} ${unit}`, y(limiter) + 15 * ratio);
    }
    if (gate) {
      const until = this.point.gate.in_s ? u.valToPos(this.at(this.curve.points.t_s.at(-1) + this.point.gate.in_s), "x", true) : bbox.left + bbox.width;
      wall(ctx, bbox.left, Math.min(until, bbox.left + bbox.width), y(gate), 5 * ratio, this.token("ink"), ratio);
      label(`gate ${Math.round(gate)} ${unit}`, y(gate) + 15 * ratio);
    }
    this.gaps(u);
    this.metal.draw(u);
    ctx.restore();
  }

  gaps(u) { // where nothing was recorded: tint, dashed, in words
    const { t_s, c } = this.curve.points, { ctx, bbox } = u;
    let from = null;
    t_s.forEach((t, i) => {
      if (c[i] === null) { from ??= t_s[i - 1] ?? t; return; }
      if (from === null) return;
      const left = u.valToPos(this.at(from), "x", true), right = u.valToPos(this.at(t), "x", true);
      from = null;
      if (right - left < 2) return;
      ctx.fillStyle = this.token("tint");
      ctx.fillRect(left, bbox.top, right - left, bbox.height);
      ctx.strokeStyle = ctx.fillStyle = this.token("ink");
      ctx.setLineDash([5, 4]);
      ctx.strokeRect(left, bbox.top, right - left, bbox.height);
      ctx.setLineDash([]);
      if (right - left > 60 * devicePixelRatio) ctx.fillText("not seen", left + 4, bbox.top + bbox.height / 2);
    });
  }

  marks(u) {
    const { ctx, bbox } = u, ratio = devicePixelRatio;
    const vertical = (x, colour, width, tall = bbox.height) => {
      ctx.strokeStyle = this.token(colour);
      ctx.lineWidth = width * ratio;
      ctx.beginPath();
      ctx.moveTo(x, bbox.top + bbox.height - tall);
      ctx.lineTo(x, bbox.top + bbox.height);
      ctx.stroke();
    };
    ctx.save();
    ctx.setLineDash([]);
    ctx.font = this.font(ratio);
    ctx.textBaseline = "alphabetic";
    let free = Array(4).fill(-Infinity), said = ""; // where each row of words is free, and the last word
    for (const mark of this.curve.marks) {
      const x = u.valToPos(this.at(mark.t_s), "x", true);
      if (x > bbox.left + bbox.width + 1) continue; // after the last reading: the list below has it
      if (mark.word === "press") { // each sign is one: a stroke at the foot, or a long melt is nothing but lines
        vertical(x, "ink", 1.5, 10 * ratio);
        continue;
      }
      vertical(x, mark.cut ? "act" : "ink", mark.cut ? 4 : 1);
      const wide = ctx.measureText(mark.word).width + 8 * ratio, right = x + wide > bbox.left + bbox.width;
      const row = free.findIndex((at) => at <= (right ? x - wide : x));
      if (row < 0 || mark.word === said) continue; // its line stands: no room, or just said
      said = mark.word;
      free[row] = right ? x : x + wide;
      ctx.textAlign = right ? "right" : "left";
      ctx.fillStyle = this.token("ink");
      ctx.fillText(mark.word, x + (right ? -4 : 4) * ratio, bbox.top + bbox.height - (8 + 14 * row) * ratio);
    }
    if (this.point?.live && this.point.firing === this.firing) {
      const { t_s, c } = this.curve.points, x = u.valToPos(this.at(t_s.at(-1)), "x", true);
      vertical(x, "ink", 1.6);
      if (c.at(-1) !== null) {
        ctx.fillStyle = this.token("ink");
        ctx.beginPath();
        ctx.arc(x, u.valToPos(this.fahrenheit ? f(c.at(-1)) : c.at(-1), "y", true), 4.5 * ratio, 0, 2 * Math.PI);
        ctx.fill();
      }
    }
    this.metal.front(u);
    ctx.restore();
  }

  tell(offset) {
    const u = this.plot, i = u.posToIdx(offset), unit = this.fahrenheit ? "°F" : "°C";
    const value = (v) => (v === null || v === undefined ? "not seen" : `${Math.round(v)} ${unit}`);
    const read = u.data[1][i], set = u.data[2][i];
    const seen = i < this.curve.points.t_s.length, show = (c) => `${Math.round((this.fahrenheit ? f(c) : c) / 5) * 5} ${unit}`;
    const chamber = seen ? `chamber ${value(read)}${this.metal.tell(this.curve.points.t_s[i], show)}, ` : "";
    this.minute.textContent = `${this.clock(u.data[0][i])}: ${chamber}setpoint ${value(set)}.`;
  }
}

// The chart's library is only asked for where there is a curve to draw.
let library = null;

function chart() {
  library ??= new Promise((done, failed) => {
    const style = document.createElement("link"), script = document.createElement("script");
    const at = (file) => new URL(`./vendor/uplot-1.6.32/${file}`, import.meta.url).href;
    style.rel = "stylesheet";
    style.href = at("uPlot.min.css");
    script.src = at("uPlot.iife.min.js");
    script.onload = done;
    script.onerror = () => { library = null; failed(new Error("the chart did not come")); };
    document.head.append(style, script);
  });
  return library;
}

const height = (width) => (width < 600 ? 206 : innerHeight < 860 ? 310 : 400);
