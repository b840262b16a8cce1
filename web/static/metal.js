// The metal on the strip: a thin line as estimated in a zone as wide as its band, dots for what is expected, and the
// promise of the pour as a dimension from now. Drawn behind the chamber's line: it was never read.

export class Metal {
  constructor(strip) {
    this.strip = strip;
  }

  get kept() { return this.strip.curve?.metal ?? { t_s: [], c: [], low_c: [], high_c: [] }; }

  get now() { return this.strip.point?.live && this.strip.point.firing === this.strip.firing ? this.strip.point.metal : null; }

  append(point) {
    const { t_s, c, low_c, high_c } = this.kept, { metal } = point;
    if (point.t_s - (t_s.at(-1) ?? -Infinity) < 10) return;
    t_s.push(point.t_s);
    c.push(metal?.c ?? null);
    low_c.push(metal?.low_c ?? null);
    high_c.push(metal?.high_c ?? null);
  }

  ends_s() { // how long after now the promise may be kept at the latest
    const minutes = this.now?.minutes;
    return minutes ? (minutes.high + 2) * 60 : 0;
  }

  draw(u) {
    const { ctx } = u, ratio = devicePixelRatio;
    ctx.save();
    ctx.setLineDash([]);
    this.pourWindow(u);
    for (const stretch of this.stretches(u)) this.zone(ctx, stretch, ratio);
    if (this.strip.fixed) this.promised(u, ratio);
    else this.expected(u, ratio);
    ctx.restore();
  }

  promised(u, ratio) { // on the page of a past firing: what was said of the pour before the start
    const said = this.strip.curve.promise;
    if (!said) return;
    const { ctx, bbox } = u, x = (t_s) => this.strip.x(u, t_s);
    ctx.fillStyle = this.strip.token("doubt-far");
    ctx.fillRect(x(said.low_s), bbox.top, x(said.high_s) - x(said.low_s), bbox.height);
    ctx.setLineDash([2 * ratio, 4 * ratio]);
    ctx.lineWidth = 2 * ratio;
    ctx.strokeStyle = this.strip.token("pencil");
    ctx.beginPath();
    ctx.moveTo(x(said.likely_s), bbox.top);
    ctx.lineTo(x(said.likely_s), bbox.top + bbox.height);
    ctx.stroke();
  }

  stretches(u) { // runs of estimates without a doubt between them
    const { t_s, c, low_c, high_c } = this.kept, found = [];
    let run = [];
    t_s.forEach((t, i) => {
      if (c[i] === null) {
        if (run.length) found.push(run);
        run = [];
        return;
      }
      run.push([this.strip.x(u, t), this.strip.y(u, c[i]), this.strip.y(u, low_c[i]), this.strip.y(u, high_c[i])]);
    });
    return run.length ? [...found, run] : found;
  }

  zone(ctx, run, ratio) {
    const line = (of) => run.forEach((p, i) => (i ? ctx.lineTo(p[0], p[of]) : ctx.moveTo(p[0], p[of])));
    ctx.beginPath();
    line(3);
    for (const p of [...run].reverse()) ctx.lineTo(p[0], p[2]);
    ctx.fillStyle = this.strip.token("doubt");
    ctx.fill();
    ctx.strokeStyle = this.strip.token("doubt-edge");
    ctx.lineWidth = ratio;
    for (const of of [2, 3]) {
      ctx.beginPath();
      line(of);
      ctx.stroke();
    }
    ctx.strokeStyle = this.strip.token("pencil");
    ctx.lineWidth = 1.8 * ratio;
    ctx.beginPath();
    line(1);
    ctx.stroke();
  }

  expected(u, ratio) {
    const metal = this.now;
    if (!metal) return;
    const { ctx, bbox } = u, t = this.strip.point.t_s, x = (in_s) => this.strip.x(u, t + in_s);
    if (metal.ahead.length) {
      ctx.setLineDash([2 * ratio, 4 * ratio]);
      ctx.lineWidth = 1.6 * ratio;
      ctx.strokeStyle = this.strip.token("pencil");
      ctx.beginPath();
      ctx.moveTo(x(0), this.strip.y(u, metal.c));
      for (const [in_s, c] of metal.ahead) ctx.lineTo(x(in_s), this.strip.y(u, c));
      ctx.stroke();
    }
    if (metal.minutes) {
      const left = x(metal.minutes.low * 60), right = x(metal.minutes.high * 60);
      ctx.fillStyle = this.strip.token("doubt-far");
      ctx.fillRect(left, bbox.top, right - left, bbox.height);
      ctx.setLineDash([5 * ratio, 4 * ratio]);
      ctx.lineWidth = 1.6 * ratio;
      ctx.strokeStyle = this.strip.token("ink");
      ctx.beginPath();
      ctx.moveTo(x(metal.minutes.likely * 60), bbox.top);
      ctx.lineTo(x(metal.minutes.likely * 60), bbox.top + bbox.height);
      ctx.stroke();
    }
  }

  pourWindow(u) { // likely ready, heat proved off: as long as the metal stays at its pouring temperature
    const { point } = this.strip, ratio = devicePixelRatio, { ctx, bbox } = u;
    if (!point?.look || !point.pour_to_in_s || point.firing !== this.strip.firing) return;
    const left = this.strip.x(u, point.t_s), right = this.strip.x(u, point.t_s + point.pour_to_in_s);
    ctx.setLineDash([]);
    ctx.fillStyle = this.strip.token("wanted");
    ctx.fillRect(left, bbox.top, right - left, bbox.height);
    ctx.strokeStyle = this.strip.token("ink");
    ctx.lineWidth = 3 * ratio;
    for (const x of [left, right]) {
      ctx.beginPath();
      ctx.moveTo(x, bbox.top);
      ctx.lineTo(x, bbox.top + bbox.height);
      ctx.stroke();
    }
    if (right - left > 34 * ratio) {
      ctx.fillStyle = this.strip.token("on-wanted");
      ctx.textAlign = "left";
      ctx.fillText("look", left + 4 * ratio, bbox.top + 16 * ratio);
    }
  }

  front(u) { // over everything: where the metal is now, and the promise in words
    const point = this.strip.point, live = point?.live && point.firing === this.strip.firing;
    if (live && point.back_in_s !== null && point.back_in_s !== undefined) this.back(u, point.back_in_s);
    const metal = this.now;
    if (!metal) return;
    const { ctx, bbox } = u, ratio = devicePixelRatio, t = this.strip.point.t_s;
    ctx.save();
    ctx.setLineDash([]);
    ctx.beginPath();
    ctx.arc(this.strip.x(u, t), this.strip.y(u, metal.c), 4 * ratio, 0, 2 * Math.PI);
    ctx.fillStyle = this.strip.token("paper");
    ctx.fill();
    ctx.lineWidth = 2 * ratio;
    ctx.strokeStyle = this.strip.token("pencil");
    ctx.stroke();
    const said = metal.minutes, back = point.back_in_s; // one promise above the drawing: the one that comes first
    if (said && (back === null || back === undefined)) {
      const text = said.words.startsWith("about") ? `${said.words.slice(6)} ± ${said.give_min}` : said.words;
      this.dimension(u, said.likely * 60, text, ratio);
    }
    ctx.restore();
  }

  back(u, in_s) { // when to be back: a dashed line, and how long that is from now
    const { ctx, bbox } = u, ratio = devicePixelRatio, x = this.strip.x(u, this.strip.point.t_s + in_s);
    ctx.save();
    ctx.setLineDash([8 * ratio, 4 * ratio]);
    ctx.lineWidth = 2 * ratio;
    ctx.strokeStyle = ctx.fillStyle = this.strip.token("ink");
    ctx.beginPath();
    ctx.moveTo(x, bbox.top);
    ctx.lineTo(x, bbox.top + bbox.height);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = `700 ${this.strip.font(ratio)}`;
    ctx.textBaseline = "alphabetic";
    const right = x + ctx.measureText("be back").width + 6 * ratio > bbox.left + bbox.width;
    ctx.textAlign = right ? "right" : "left";
    ctx.strokeStyle = this.strip.token("paper");
    ctx.lineWidth = 4 * ratio;
    ctx.lineJoin = "round";
    const at = x + (right ? -4 : 4) * ratio, low = bbox.top + bbox.height - 8 * ratio;
    ctx.strokeText("be back", at, low);
    ctx.fillText("be back", at, low);
    this.dimension(u, in_s, `${Math.floor(in_s / 60)} min`, ratio);
    ctx.restore();
  }

  dimension(u, in_s, text, ratio) { // a promise, measured from now: above the drawing
    const { ctx, bbox } = u, t = this.strip.point.t_s, line = bbox.top - 9 * ratio;
    const from = this.strip.x(u, t), to = this.strip.x(u, t + in_s), head = 8 * ratio, half = 3 * ratio;
    ctx.fillStyle = ctx.strokeStyle = this.strip.token("ink");
    ctx.lineWidth = 1.2 * ratio;
    for (const [x, side] of [[from, -1], [to, 1]]) {
      ctx.beginPath();
      ctx.moveTo(x, line);
      ctx.lineTo(x + side * head, line - half);
      ctx.lineTo(x + side * head, line + half);
      ctx.fill();
      ctx.beginPath();
      ctx.moveTo(x, bbox.top - 16 * ratio);
      ctx.lineTo(x, bbox.top);
      ctx.stroke();
    }
    ctx.beginPath();
    ctx.moveTo(from - 2 * head, line);
    ctx.lineTo(to + 2 * head, line);
    ctx.stroke();
    ctx.font = `700 ${this.strip.font(ratio)}`;
    ctx.textBaseline = "middle";
    const wide = ctx.measureText(text).width, room = to - from - 2 * head;
    if (room > wide + 2 * head) { // between the two, as on a drawing: the line is broken for it
      ctx.textAlign = "center";
      ctx.fillStyle = this.strip.token("paper");
      ctx.fillRect((from + to - wide) / 2 - head / 2, line - head, wide + head, 2 * head);
      ctx.fillStyle = this.strip.token("ink");
      ctx.fillText(text, (from + to) / 2, line);
      return;
    }
    const fits = from - 2.5 * head - wide > bbox.left - 30 * ratio;
    ctx.textAlign = fits ? "right" : "left";
    ctx.fillText(text, fits ? from - 2.5 * head : to + 2.5 * head, line);
  }

  tell(t_s, value) { // what was estimated for that moment, in words
    const { t_s: at, c, low_c, high_c } = this.kept;
    let best = -1;
    at.forEach((t, i) => { if (best < 0 || Math.abs(t - t_s) < Math.abs(at[best] - t_s)) best = i; });
    if (best < 0 || c[best] === null || Math.abs(at[best] - t_s) > 90) return "";
    return `, metal about ${value(c[best])} (${value(low_c[best])} to ${value(high_c[best])})`;
  }
}
