// What a person would complain about on the page as it stands: a list of sentences. `isPhone`: fingers press here.
(isPhone) => {
  const SMALLEST_PX = 11, TARGET_PX = 43.5, SLACK_PX = 3;
  const found = new Set();
  const named = (each) => {
    const at = each.closest("[class]:not(tspan):not(text)") || each;
    return `${each.tagName.toLowerCase()} in ${at.tagName.toLowerCase()}.${[...at.classList].join(".")}`;
  };
  const width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > width) {
    const wide = [...document.querySelectorAll("main *")]
      .filter((each) => each.getBoundingClientRect().right > width + 1 && !each.closest(".scroll, [data-scrolls]"))
      .slice(0, 2).map(named);
    found.add(`sideways: ${document.documentElement.scrollWidth} px in ${width} (${wide.join("; ")})`);
  }
  const unseen = (each) => { // for those who hear the page
    for (let at = each; at && at !== document.body; at = at.parentElement)
      if (!at.ownerSVGElement && /absolute|fixed/.test(getComputedStyle(at).position) && (at.clientWidth <= 2 || at.clientHeight <= 2)) return true;
    return false;
  };
  const drawn = new Map(); // the smallest letters of each picture
  const scrolls = (each) => {
    for (let at = each; at && at !== document.body; at = at.parentElement)
      if (/auto|scroll/.test(getComputedStyle(at).overflowX)) return true;
    return false;
  };
  const lines = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const hidden = "script, style, template, .skip, option, [hidden], textarea";
  while (walker.nextNode()) {
    const node = walker.currentNode, each = node.parentElement, text = node.data.trim();
    if (!text || each.closest(hidden) || !each.checkVisibility({ opacityProperty: true, visibilityProperty: true }) || unseen(each)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const boxes = [...range.getClientRects()].filter((box) => box.width > 1 && box.height > 1);
    if (!boxes.length) continue;
    const style = getComputedStyle(each), said = `"${text.slice(0, 40)}" (${named(each)})`;
    const inSvg = each.ownerSVGElement;
    const scale = inSvg ? Math.hypot(each.getScreenCTM().a, each.getScreenCTM().b) : 1;
    const size = parseFloat(style.fontSize) * scale;
    if (inSvg) {
      const svg = inSvg.closest("svg:not(svg svg)") || inSvg, least = drawn.get(svg);
      if (!least || size < least.size) drawn.set(svg, { size, said });
    } else if (size < SMALLEST_PX - 0.05) found.add(`letters of ${size.toFixed(1)} px: ${said}`);
    for (let at = each; at && at !== document.body && !inSvg; at = at.parentElement) {
      const how = getComputedStyle(at);
      if (how.display === "inline" || !/hidden|clip/.test(how.overflowX + how.overflowY)) continue;
      if (at.clientWidth > 2 && at.clientHeight > 2 && (at.scrollWidth > at.clientWidth + 1 || at.scrollHeight > at.clientHeight + 4))
        found.add(`cut: ${said} by ${named(at)}`);
      break;
    }
    if (boxes.some((box) => box.right > width + 1 || box.left < -1) && !scrolls(each)) found.add(`beyond the edge: ${said}`);
    if (!inSvg && !scrolls(each)) for (const box of boxes) lines.push({ box, each, said, fixed: Boolean(each.closest("[data-stays]")) });
  }
  for (const { size, said } of drawn.values())
    if (size < SMALLEST_PX - 0.05) found.add(`letters of ${size.toFixed(1)} px in a picture: ${said}`);
  lines.sort((a, b) => a.box.top - b.box.top);
  for (let i = 0; i < lines.length; i += 1)
    for (let j = i + 1; j < lines.length && lines[j].box.top < lines[i].box.bottom - SLACK_PX; j += 1) {
      const a = lines[i], b = lines[j];
      if (a.each === b.each || a.fixed !== b.fixed) continue;
      const across = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
      const down = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
      if (across > SLACK_PX && down > Math.min(a.box.height, b.box.height) / 3) found.add(`overlap: ${a.said} and ${b.said}`);
    }
  if (isPhone)
    for (const each of document.querySelectorAll("button, select, input:not([type=hidden]), textarea, summary, .button, nav a")) {
      if (!each.checkVisibility({ opacityProperty: true, visibilityProperty: true }) || each.closest("thead, .skip")) continue;
      const box = (each.matches("[type=radio], [type=checkbox], [type=file]") ? each.closest("label") || each : each).getBoundingClientRect();
      if (box.width && (box.width < TARGET_PX || box.height < TARGET_PX))
        found.add(`target of ${box.width.toFixed(0)} x ${box.height.toFixed(0)} px: ${each.outerHTML.slice(0, 70)}`);
    }
  return [...found];
}
