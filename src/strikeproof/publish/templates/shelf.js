// The list is loaded when somebody searches: the front page opens at once, however long the list is.
const own = document.currentScript;
const place = document.getElementById("find");
const MOST = 50;

function loaded() {
  return new Promise((done) => {
    if (window.shelfLines) return done();
    const list = document.createElement("script");
    list.src = own.dataset.lines;
    list.onload = done;
    document.head.append(list);
  });
}

async function search(text) {
  await loaded();
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const found = [];
  let count = 0;
  for (const [key, name, rest] of words.length ? window.shelfLines : []) {
    const line = `${name} ${rest}`.toLowerCase();
    if (!words.every((word) => line.includes(word))) continue;
    count += 1;
    if (found.length < MOST) found.push([key, name, rest]);
  }
  place.querySelector("output").textContent = words.length ? `${count} found${count > MOST ? `, the first ${MOST}` : ""}` : "";
  place.querySelector("ul").replaceChildren(...found.map(line));
}

function line([key, name, rest]) {
  const item = document.createElement("li");
  const link = document.createElement("a");
  link.href = `${own.dataset.root}campaign/${key}.html`;
  link.textContent = name;
  const more = document.createElement("span");
  more.className = "quiet";
  more.textContent = ` ${rest}`;
  item.append(link, more);
  return item;
}

if (place) {
  place.hidden = false;
  place.querySelector("input").addEventListener("input", (event) => search(event.target.value));
}
