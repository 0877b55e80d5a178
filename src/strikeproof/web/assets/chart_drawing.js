// What is drawn over the curves: bands, spans, ticks, lines and points with times of their own.
const within = (plot, value) => value >= plot.scales.x.min && value <= plot.scales.x.max;

const trace = (plot, over, values, pen) => {
  let down = false;
  over.x.forEach((at, place) => {
    if (values[place] === null) {
      down = false;
      return;
    }
    const spot = [plot.valToPos(at, "x", true), plot.valToPos(values[place], "y", true)];
    if (down) pen.lineTo(...spot);
    else pen.moveTo(...spot);
    down = true;
  });
};

const kinds = {
  span(plot, over, pen, box) {
    const left = Math.max(plot.valToPos(over.from, "x", true), box.left);
    const right = Math.min(plot.valToPos(over.to, "x", true), box.left + box.width);
    pen.globalAlpha = 0.5;
    if (right > left) pen.fillRect(left, box.top, right - left, box.height);
  },
  band(plot, over, pen) {
    pen.globalAlpha = 0.8;
    pen.beginPath();
    trace(plot, over, over.high, pen);
    for (let place = over.x.length - 1; place >= 0; place -= 1) {
      pen.lineTo(plot.valToPos(over.x[place], "x", true), plot.valToPos(over.low[place], "y", true));
    }
    pen.fill();
  },
  ticks(plot, over, pen, box) {
    const seen = over.x.filter((at) => within(plot, at));
    if (seen.length > box.width / devicePixelRatio / 3) return;
    const high = 10 * devicePixelRatio;
    pen.beginPath();
    for (const at of seen) {
      const x = plot.valToPos(at, "x", true);
      pen.moveTo(x, box.top + box.height);
      pen.lineTo(x, box.top + box.height - high);
    }
    pen.stroke();
  },
  line(plot, over, pen) {
    pen.setLineDash((over.dash || []).map((each) => each * devicePixelRatio));
    pen.beginPath();
    trace(plot, over, over.y, pen);
    pen.stroke();
  },
  points(plot, over, pen) {
    const size = (over.size || 4) * devicePixelRatio;
    over.x.forEach((at, place) => {
      if (!within(plot, at) || over.y[place] === null) return;
      const spot = [plot.valToPos(at, "x", true), plot.valToPos(over.y[place], "y", true)];
      pen.beginPath();
      pen.arc(...spot, size, 0, 2 * Math.PI);
      if (over.hollow) pen.stroke();
      else pen.fill();
    });
  },
};

// The letters of an axis, so many CSS pixels high. A whole number: the plot looks for one before "px" and makes it
// larger on a screen of more pixels; of 13.9px it would make larger what comes behind the point.
export const lettersOf = (height) => `${Math.round(height)}px ${getComputedStyle(document.body).fontFamily}`;

export function draw(plot, overlays, colour) {
  const box = plot.bbox;
  const pen = plot.ctx;
  for (const over of overlays) {
    pen.save();
    pen.beginPath();
    pen.rect(box.left, box.top, box.width, box.height);
    pen.clip();
    pen.fillStyle = colour(over.role || "soft");
    pen.strokeStyle = pen.fillStyle;
    pen.lineWidth = (over.width || 1.5) * devicePixelRatio;
    if (over.kind === "band" || over.kind === "span") pen.globalCompositeOperation = "destination-over";
    kinds[over.kind](plot, over, pen, box);
    pen.restore();
  }
}
