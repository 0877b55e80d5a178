// A chart as a file: the same drawing as SVG and PNG, always in light colours, and its numbers as CSV.
const safe = (text) => String(text ?? "").replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[c]);
const two = (value) => value.toFixed(2);

export function asSvg(chart, colours) {
  const plot = chart.chart;
  const wide = plot.width;
  const over = { left: plot.bbox.left / devicePixelRatio, top: plot.bbox.top / devicePixelRatio, width: plot.bbox.width / devicePixelRatio, height: plot.bbox.height / devicePixelRatio };
  const above = 34;
  const x = (value) => over.left + plot.valToPos(value, "x");
  const y = (value) => over.top + plot.valToPos(value, "y");
  const role = (name) => colours[name] || colours.ink;
  const path = (times, values) => {
    let text = "";
    let down = false;
    for (let place = 0; place < times.length; place += 1) {
      const value = values[place];
      if (value === null || !Number.isFinite(value)) down = false;
      else {
        text += `${down ? "L" : "M"}${two(x(times[place]))} ${two(y(value))}`;
        down = true;
      }
    }
    return text;
  };
  const parts = [];
  const drawn = { span: 0, band: 1, line: 2, ticks: 2, points: 3 };
  const behind = chart.overlays.filter((each) => drawn[each.kind] < 2);
  const before = chart.overlays.filter((each) => drawn[each.kind] >= 2);
  const overlay = (each) => {
    const colour = role(each.role || "soft");
    if (each.kind === "span") return `<rect x="${two(x(each.from))}" y="${two(over.top)}" width="${two(x(each.to) - x(each.from))}" height="${two(over.height)}" fill="${colour}" opacity=".5"/>`;
    if (each.kind === "band") return `<path d="${path(each.x, each.high)}${path([...each.x].reverse(), [...each.low].reverse()).replace("M", "L")}Z" fill="${colour}" opacity=".8"/>`;
    if (each.kind === "line") return `<path d="${path(each.x, each.y)}" fill="none" stroke="${colour}" stroke-width="${each.width || 1.5}" stroke-dasharray="${(each.dash || []).join(" ")}"/>`;
    if (each.kind === "ticks") return each.x.length > over.width / 3 && each.x.filter((at) => at >= chart.range[0] && at <= chart.range[1]).length > over.width / 3 ? "" : `<path d="${each.x.map((at) => `M${two(x(at))} ${two(over.top + over.height)}v-10`).join("")}" stroke="${colour}"/>`;
    return each.x.map((at, place) => (each.y[place] === null ? "" : `<circle cx="${two(x(at))}" cy="${two(y(each.y[place]))}" r="${each.size || 4}" fill="${each.hollow ? "none" : colour}" stroke="${colour}"/>`)).join("");
  };
  const labels = (axis, along) => (axis._splits || []).map((value, place) => {
    const text = axis._values ? axis._values[place] : value;
    if (text === null || text === "") return "";
    return along
      ? `<path d="M${two(x(value))} ${two(over.top)}v${two(over.height)}" stroke="${role("rule")}"/><text x="${two(x(value))}" y="${two(over.top + over.height + 17)}" text-anchor="middle">${safe(text)}</text>`
      : `<path d="M${two(over.left)} ${two(y(value))}h${two(over.width)}" stroke="${role("rule")}"/><text x="${two(over.left - 6)}" y="${two(y(value) + 4)}" text-anchor="end">${safe(text)}</text>`;
  }).join("");
  parts.push(labels(plot.axes[0], true), labels(plot.axes[1], false));
  parts.push(`<g clip-path="url(#field)">${behind.map(overlay).join("")}`);
  plot.data.slice(1).forEach((values, place) => {
    const curve = chart.curves[place] || {};
    parts.push(`<path d="${path(plot.data[0], values)}" fill="none" stroke="${role(curve.role || "higher")}" stroke-width="${curve.width || 1.5}" stroke-dasharray="${(curve.dash || []).join(" ")}"/>`);
  });
  parts.push(`${before.map(overlay).join("")}</g>`);
  parts.push(`<text x="${two(over.left + over.width / 2)}" y="${two(plot.height - 6)}" text-anchor="middle">${safe(chart.x)}</text>`);
  parts.push(`<text transform="translate(14 ${two(over.top + over.height / 2)}) rotate(-90)" text-anchor="middle">${safe(chart.y)}</text>`);
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${wide}" height="${plot.height + above}" viewBox="0 ${-above} ${wide} ${plot.height + above}" font-family="sans-serif" font-size="13" fill="${role("ink")}"><title>${safe(chart.title)}</title><desc>${safe(chart.about)}</desc><rect y="${-above}" width="100%" height="100%" fill="${role("paper")}"/><clipPath id="field"><rect x="${two(over.left)}" y="${two(over.top)}" width="${two(over.width)}" height="${two(over.height)}"/></clipPath><text x="8" y="-12" font-weight="bold">${safe(chart.title)}</text>${parts.join("")}</svg>`;
}

export async function asPng(svg) {
  const image = new Image();
  const address = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  try {
    await new Promise((done, failed) => {
      image.onload = done;
      image.onerror = failed;
      image.src = address;
    });
    const canvas = document.createElement("canvas");
    canvas.width = 2 * image.width;
    canvas.height = 2 * image.height;
    const pen = canvas.getContext("2d");
    pen.scale(2, 2);
    pen.drawImage(image, 0, 0);
    return await new Promise((done) => canvas.toBlob(done, "image/png"));
  } finally {
    URL.revokeObjectURL(address);
  }
}

// What a spreadsheet would work out as a formula gets an apostrophe in front, as in every CSV file of the program.
const guarded = (text) => (/^'*[=+\-@\t\r\n＝＋－＠]./s.test(text) ? `'${text}` : text).replace(/([;\t])(?='*[=+\-@])/g, "$1'");

export function asCsv(chart) {
  const quote = (text) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const plot = chart.chart;
  const heads = [chart.x, ...(chart.curves.length ? chart.curves.map((each) => each.label) : [chart.y])];
  const rows = [heads.map(guarded).map(quote).join(",")];
  for (let place = 0; place < plot.data[0].length; place += 1) {
    rows.push(plot.data.map((column) => (Number.isFinite(column[place]) ? column[place] : "")).join(","));
  }
  return `${rows.join("\n")}\n`;
}

export function save(blob, name, address) {
  const anchor = document.createElement("a");
  anchor.href = address || URL.createObjectURL(blob);
  anchor.download = name;
  document.body.append(anchor);
  anchor.click();
  anchor.remove();
  if (!address) setTimeout(() => URL.revokeObjectURL(anchor.href), 1000);
}
