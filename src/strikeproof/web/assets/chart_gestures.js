// Wheel, touch and keys of a chart. One finger moves the page up and down and the chart sideways; two fingers zoom.
export function hold(chart) {
  const element = chart.plot;
  if (!chart.zoomable) return () => {};
  const over = () => element.querySelector(".u-over").getBoundingClientRect();
  const valueAt = (x) => chart.chart.posToVal(x - over().left, "x");

  const keys = (event) => {
    const act = {
      ArrowLeft: () => chart.move(-0.2), ArrowRight: () => chart.move(0.2), PageUp: () => chart.move(-1),
      PageDown: () => chart.move(1), "+": () => chart.zoom(0.5), "=": () => chart.zoom(0.5),
      "-": () => chart.zoom(2), Home: () => chart.whole(), 0: () => chart.whole(),
    }[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  };
  const wheel = (event) => {
    if (!event.ctrlKey && !event.shiftKey && Math.abs(event.deltaX) <= Math.abs(event.deltaY) && document.activeElement !== element) return;
    event.preventDefault();
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey) chart.move((event.deltaX || event.deltaY) / 800);
    else chart.zoom(event.deltaY > 0 ? 1.25 : 0.8, valueAt(event.clientX));
  };
  let before = null;
  const fingers = (event) => [...event.touches].map((each) => each.clientX).sort((a, b) => a - b);
  const start = (event) => {
    before = { at: fingers(event), range: chart.range && [...chart.range] };
  };
  const drag = (event) => {
    if (!before || !before.range || event.touches.length !== before.at.length) return;
    const now = fingers(event);
    const [from, to] = before.range;
    const wide = over().width;
    const left = over().left;
    const value = (x) => from + ((x - left) / wide) * (to - from);
    if (now.length === 2) {
      event.preventDefault();
      const share = Math.max(now[1] - now[0], 10) / Math.max(before.at[1] - before.at[0], 10);
      const width = (to - from) / share;
      const still = value(0.5 * (before.at[0] + before.at[1]));
      const place = (0.5 * (now[0] + now[1]) - left) / wide;
      chart.show(still - place * width, still + (1 - place) * width);
    } else if (now.length === 1) {
      const by = ((before.at[0] - now[0]) / wide) * (to - from);
      chart.show(from + by, to + by);
    }
  };
  const end = () => {
    before = null;
  };
  element.addEventListener("keydown", keys);
  element.addEventListener("wheel", wheel, { passive: false });
  element.addEventListener("touchstart", start, { passive: true });
  element.addEventListener("touchmove", drag, { passive: false });
  element.addEventListener("touchend", end);
  const whole = () => chart.whole();
  element.addEventListener("dblclick", whole);
  return () => {
    element.removeEventListener("keydown", keys);
    element.removeEventListener("wheel", wheel);
    element.removeEventListener("touchstart", start);
    element.removeEventListener("touchmove", drag);
    element.removeEventListener("touchend", end);
    element.removeEventListener("dblclick", whole);
  };
}
