// A chart of samples or curves: zoomed, moved and read by mouse, touch and keyboard; saved as SVG, PNG and CSV.
// The samples come from `source` window by window as bytes (see web/trace_chart.py), or stand in `data`.
// It begins by itself in every figure [data-chart] that comes into the page, and ends when that goes.
import uPlot from "/assets/uplot/uPlot.esm.js";
import { draw, lettersOf } from "/assets/chart_drawing.js";
import { asSvg, asPng, asCsv, save } from "/assets/chart_saving.js";
import { hold } from "/assets/chart_gestures.js";

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

export function unpack(bytes) {
  // uint32 points, uint32 curves, float64 times, then float32 values curve by curve; all little-endian.
  const view = new DataView(bytes);
  const points = view.getUint32(0, true);
  const curves = view.getUint32(4, true);
  const times = new Float64Array(bytes.slice(8, 8 + 8 * points));
  const found = [times];
  for (let curve = 0; curve < curves; curve += 1) {
    const at = 8 + 8 * points + 4 * points * curve;
    found.push(Float32Array.from(new Float32Array(bytes.slice(at, at + 4 * points))));
  }
  return found;
}

const numbers = (given) => given.map((each) => Float64Array.from(each, (v) => (v === null ? NaN : v)));

class Chart {
  constructor(figure) {
    this.figure = figure;
    this.plot = figure.querySelector(".plot");
    this.curves = [];
    this.overlays = [];
    Object.assign(this, JSON.parse(figure.dataset.chart));
    this.asked = 0;
    this.range = this.span ? [...this.span] : null;
    this.shown = this.data ? numbers(this.data) : null;
    if (this.shown && !this.span) this.range = this.extent();
    this.full = this.range && [...this.range];
    this.make();
    this.watching = new ResizeObserver(() => this.resize());
    this.watching.observe(this.plot);
    this.redraw = () => this.chart.redraw(false);
    document.addEventListener("look", this.redraw);
    this.night = matchMedia("(prefers-color-scheme: dark)");
    this.night.addEventListener("change", this.redraw);
    this.release = hold(this);
    this.press();
    if (this.source) this.ask();
    else {
      this.tell();
      this.ready();
    }
  }
  end() {
    this.watching.disconnect();
    document.removeEventListener("look", this.redraw);
    this.night.removeEventListener("change", this.redraw);
    this.release();
    this.chart.destroy();
  }
  press() {
    const acts = {
      in: () => this.zoom(0.5), out: () => this.zoom(2), earlier: () => this.move(-0.5), later: () => this.move(0.5),
      all: () => this.whole(), svg: () => this.saveAs("svg"), png: () => this.saveAs("png"), csv: () => this.saveAs("csv"),
    };
    for (const each of this.figure.querySelectorAll("[data-act]")) each.addEventListener("click", acts[each.dataset.act]);
  }
  ready() {
    this.figure.dataset.ready = "true";
  }
  say(text) {
    this.figure.querySelector(".now").textContent = text;
  }
  make() {
    const size = this.size();
    const chart = this;
    const font = lettersOf(parseFloat(getComputedStyle(document.documentElement).fontSize) * 0.82);
    const axis = (label, wide) => ({
      label, labelFont: font, font, labelSize: wide ? 26 : 24, size: wide ? 62 : 40, gap: 4,
      stroke: () => css("ink"), grid: { stroke: () => css("rule"), width: 1 }, ticks: { show: false },
    });
    const series = (this.curves.length ? this.curves : [{ label: this.y, role: "higher" }]).map((each) => ({
      label: each.label, stroke: () => css(each.role || "higher"), width: each.width || 1.5,
      dash: each.dash, points: { show: each.points || false, size: 7 }, spanGaps: false,
      paths: each.stepped ? uPlot.paths.stepped({ align: 1 }) : undefined,
    }));
    this.chart = new uPlot(
      {
        width: size[0], height: size[1], legend: { show: false }, pxAlign: false,
        cursor: { drag: { x: this.zoomable, y: false, setScale: false }, focus: { prox: 30 }, points: { size: 8 } },
        scales: {
          x: { time: false, distr: this.xlog ? 3 : 1, range: () => chart.range || [0, 1] },
          y: { range: (_plot, low, high) => chart.reach(low, high) },
        },
        axes: [axis(this.x, false), axis(this.y, true)],
        series: [{}, ...series],
        hooks: {
          draw: [(plot) => draw(plot, chart.overlays, css)],
          setSelect: [(plot) => chart.select(plot)],
          setCursor: [(plot) => chart.point(plot)],
        },
      },
      this.shown || [[], ...series.map(() => [])],
      this.plot,
    );
  }
  size() {
    const box = this.plot.getBoundingClientRect();
    return [Math.max(box.width, 100), Math.max(box.height, 100)];
  }
  resize() {
    const [width, height] = this.size();
    if (Math.abs(width - this.chart.width) < 1 && Math.abs(height - this.chart.height) < 1) return;
    this.chart.setSize({ width, height });
    if (this.source) this.ask();
  }
  extent() {
    const times = this.shown[0];
    return times.length ? [times[0], times[times.length - 1]] : [0, 1];
  }
  reach(low, high) {
    // What is drawn over the curves belongs in the picture too, where it lies in the window.
    let [least, most] = [low ?? Infinity, high ?? -Infinity];
    const [from, to] = this.range || [-Infinity, Infinity];
    for (const over of this.overlays) {
      if (over.kind === "ticks" || over.kind === "span") continue;
      over.x.forEach((at, place) => {
        if (at < from || at > to) return;
        for (const values of [over.y, over.low, over.high]) {
          if (!values || values[place] === null) continue;
          least = Math.min(least, values[place]);
          most = Math.max(most, values[place]);
        }
      });
    }
    if (!(least <= most)) return [0, 1];
    const room = 0.06 * (most - least) || Math.abs(most) * 0.1 || 1;
    return [least >= 0 && least < 0.4 * most ? 0 : least - room, most + room];
  }
  select(plot) {
    if (plot.select.width < 4) return;
    const from = plot.posToVal(plot.select.left, "x");
    const to = plot.posToVal(plot.select.left + plot.select.width, "x");
    plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    this.show(from, to);
  }
  point(plot) {
    const at = plot.cursor.idx;
    if (at === null || at === undefined || !plot.data[0].length) return this.tell();
    const read = plot.data.slice(1).map((values, place) => {
      const label = this.curves.length > 1 ? `${this.curves[place].label} ` : "";
      return Number.isFinite(values[at]) ? `${label}${this.write(values[at])}` : null;
    });
    this.say(`${this.x}: ${this.write(plot.data[0][at])}   ${this.y}: ${read.filter(Boolean).join(", ") || "–"}`);
    return undefined;
  }
  write(value) {
    return Number(value.toPrecision(6)).toString().replace("-", "−");
  }
  tell() {
    if (!this.range) return;
    const [from, to] = this.range;
    const many = this.shown ? this.shown[0].length : 0;
    this.say(`${this.x}: ${this.write(from)} to ${this.write(to)}, ${many} points drawn`);
  }
  show(from, to) {
    if (!this.full) return;
    const [first, last] = this.full;
    const width = Math.min(to - from, last - first);
    if (width < 1e-9 * (last - first)) return;
    const start = Math.min(Math.max(from, first), last - width);
    this.range = [start, start + width];
    this.chart.redraw(false, true);
    this.chart.setData(this.chart.data);
    if (this.source) this.askSoon();
    this.tell();
  }
  zoom(factor, around) {
    if (!this.range) return;
    const [from, to] = this.range;
    const still = around ?? 0.5 * (from + to);
    this.show(still - (still - from) * factor, still + (to - still) * factor);
  }
  move(share) {
    if (!this.range) return;
    const by = share * (this.range[1] - this.range[0]);
    this.show(this.range[0] + by, this.range[1] + by);
  }
  whole() {
    if (this.full) this.show(...this.full);
  }
  askSoon() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.ask(), 60);
  }
  address(place) {
    const address = new URL(place, location.href);
    if (this.range) {
      address.searchParams.set("start", this.range[0]);
      address.searchParams.set("end", this.range[1]);
    }
    return address;
  }
  async ask() {
    const number = (this.asked += 1);
    const address = this.address(this.source);
    address.searchParams.set("points", String(Math.ceil(this.size()[0] * Math.min(devicePixelRatio, 2))));
    const answer = await fetch(address);
    if (number !== this.asked) return;
    if (!answer.ok) {
      this.say(`Not available: ${(await answer.json()).problem}`);
      this.ready();
      return;
    }
    this.take(unpack(await answer.arrayBuffer()));
  }
  take(columns) {
    this.shown = columns;
    if (!this.range) {
      this.range = this.extent();
      this.full = [...this.range];
    }
    this.chart.setData(columns);
    this.ready();
    this.tell();
  }
  async saveAs(kind) {
    if (kind === "csv" && this.csv) {
      save(null, `${this.name}.csv`, this.address(this.csv));
      return;
    }
    const picture = asSvg(this, this.colours);
    if (kind === "csv") save(new Blob([asCsv(this)], { type: "text/csv" }), `${this.name}.csv`);
    else if (kind === "svg") save(new Blob([picture], { type: "image/svg+xml" }), `${this.name}.svg`);
    else save(await asPng(picture), `${this.name}.png`);
  }
}

const charts = new Map();
const look = () => {
  for (const [figure, chart] of charts)
    if (!figure.isConnected) {
      chart.end();
      charts.delete(figure);
    }
  for (const figure of document.querySelectorAll("[data-chart]")) if (!charts.has(figure)) charts.set(figure, new Chart(figure));
};
new MutationObserver(look).observe(document.body, { childList: true, subtree: true });
look();
