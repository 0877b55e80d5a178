// The live trace: lowest and highest reading of each moment, over the band of earlier runs of the article.
// Its axes stand still: time from a second before the first blow to past the end, load up to a round number
// that only grows while one run is shown.
import uPlot from "/assets/uplot/uPlot.esm.js";
import { draw, lettersOf } from "/assets/chart_drawing.js";

const BEFORE_S = 1;
const AFTER_S = 2;
const CALM_S = 15;
const GAP_S = 0.3;
const ROUND = [1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10];
const CALM_ROOM = 12;
const CALM_MS = 500; // between pictures, for who asked for less motion

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

export function unpack(bytes) {
  // As web/trace_chart.py packs it: two counts, times as float64, then low and high as float32.
  const points = new DataView(bytes).getUint32(0, true);
  const at = 8 + 8 * points;
  return [
    new Float64Array(bytes.slice(8, at)),
    new Float32Array(bytes.slice(at, at + 4 * points)),
    new Float32Array(bytes.slice(at + 4 * points, at + 8 * points)),
  ];
}

const roundUp = (value) => {
  if (!(value > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(value));
  return power * ROUND.find((each) => each * power >= value * 0.9999);
};

export class LiveChart {
  constructor(place) {
    this.place = place;
    this.axes = { run: "", unit: "", factor: 1, duration: 10, band: null, allowed: null };
    this.overlays = [];
    this.top = 0;
    this.bottom = 0;
    this.drawnAt = 0;
    this.frames = 0;
    this.still = matchMedia("(prefers-reduced-motion: reduce)");
    this.make();
    this.watching = new ResizeObserver(() => this.resize());
    this.watching.observe(place);
    this.redraw = () => this.plot.redraw(false);
    document.addEventListener("look", this.redraw);
    this.night = matchMedia("(prefers-color-scheme: dark)");
    this.night.addEventListener("change", this.redraw);
  }

  close() {
    this.watching.disconnect();
    document.removeEventListener("look", this.redraw);
    this.night.removeEventListener("change", this.redraw);
    cancelAnimationFrame(this.coming);
    this.plot.destroy();
  }

  size() {
    const box = this.place.getBoundingClientRect();
    return { width: Math.max(box.width, 100), height: Math.max(box.height, 100) };
  }

  // Height of the axes' letters: on a large screen they are read from further away.
  lettering() {
    return Math.max(0.9 * parseFloat(getComputedStyle(document.documentElement).fontSize), this.size().width / 100);
  }

  make() {
    const letters = this.lettering();
    this.letters = letters;
    const font = lettersOf(letters);
    const axis = (wide) => ({
      font, size: letters * (wide ? 3.6 : 2.2), gap: 4, stroke: () => css("ink"),
      grid: { stroke: () => css("rule"), width: 1 }, ticks: { show: false },
    });
    const curve = { stroke: () => css("live"), width: 2, points: { show: false }, spanGaps: false };
    this.plot = new uPlot(
      {
        ...this.size(), legend: { show: false }, cursor: { show: false }, pxAlign: false,
        scales: {
          x: { time: false, range: () => this.span() },
          y: { range: () => [this.bottom, this.top || 1] },
        },
        axes: [axis(false), axis(true)],
        series: [{}, { ...curve }, { ...curve }],
        bands: [{ series: [2, 1], fill: () => css("live") }],
        hooks: { draw: [(plot) => draw(plot, this.overlays, css)] },
      },
      [[], [], []],
      this.place,
    );
  }

  resize() {
    const size = this.size();
    if (Math.abs(this.lettering() - this.letters) > 1) {
      const { data } = this.plot;
      this.plot.destroy();
      this.make();
      this.plot.setData(data);
    } else if (Math.abs(size.width - this.plot.width) >= 1 || Math.abs(size.height - this.plot.height) >= 1) {
      this.plot.setSize(size);
    }
  }

  span() {
    return this.axes.run ? [-BEFORE_S, this.axes.duration + AFTER_S] : [-CALM_S, 0];
  }

  setAxes(axes) {
    const fresh = (axes.run && axes.run !== this.run) || axes.unit !== this.axes.unit;
    this.run = axes.run || this.run;
    this.axes = axes;
    this.overlays = [];
    if (fresh) this.top = this.bottom = 0;
    if (axes.band) this.reach(0, Math.max(...axes.band.high));
    if (!axes.run) return;
    if (axes.allowed !== null) {
      this.overlays.push({ kind: "line", x: [-BEFORE_S, axes.duration + AFTER_S], y: [axes.allowed, axes.allowed], role: "alarm", width: 3 });
    }
    if (axes.band) {
      const { x, low, high, middle } = axes.band;
      this.overlays.push({ kind: "line", x, y: middle, role: "soft", dash: [6, 4] });
      this.overlays.push({ kind: "band", x, low, high, role: "band" });
    }
    for (const at of [0, axes.duration]) {
      this.overlays.push({ kind: "line", x: [at, at], y: [-1e9, 1e9], role: "soft", dash: [2, 4] });
    }
  }

  reach(low, high) {
    this.top = Math.max(this.top, roundUp(1.04 * high));
    const least = -0.04 * this.top;
    if (low < least) this.bottom = Math.min(this.bottom, -roundUp(-low));
    else this.bottom = Math.min(this.bottom, least);
  }

  // A picture; `drawn` is called when it is on the screen, so that a slow one is sent fewer.
  take(bytes, drawn) {
    this.waiting = bytes;
    const wait = this.still.matches ? Math.max(0, this.drawnAt + CALM_MS - performance.now()) : 0;
    const show = () => {
      this.coming = requestAnimationFrame(() => {
        this.show(unpack(this.waiting));
        this.drawnAt = performance.now();
        this.place.frames = this.frames += 1;
        drawn();
      });
    };
    if (document.hidden) drawn();
    else if (wait) setTimeout(show, wait);
    else show();
  }

  show([times, low, high]) {
    const shown = [[], [], []];
    const by = this.axes.factor;
    let [least, most] = [0, 0];
    for (let at = 0; at < times.length; at += 1) {
      if (at && times[at] - times[at - 1] > GAP_S) {
        shown[0].push(times[at] - 1e-6);
        shown[1].push(null);
        shown[2].push(null);
      }
      shown[0].push(times[at]);
      shown[1].push(low[at] * by);
      shown[2].push(high[at] * by);
      least = Math.min(least, low[at] * by);
      most = Math.max(most, high[at] * by);
    }
    // Between runs the rig's noise alone would fill the picture and look like something.
    this.reach(least, this.axes.run ? most : CALM_ROOM * most);
    this.plot.setData(shown);
  }
}
