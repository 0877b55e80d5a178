// The page's line to the recorder: words as JSON, pictures as bytes; it comes back by itself.
const WAITS_MS = [300, 600, 1200, 2500];
const QUIET_MS = 1000; // a recorder that lives says something at least four times a second
const MIND_MS = 200;

export class Wire {
  constructor(campaign, { words, picture, state, quiet }) {
    this.address = new URL("/record/wire", location.href);
    this.address.protocol = location.protocol === "https:" ? "wss:" : "ws:";
    this.address.searchParams.set("campaign", campaign);
    this.words = words;
    this.picture = picture;
    this.state = state;
    this.quiet = quiet;
    this.tries = 0;
    this.heardAt = performance.now();
    this.minding = setInterval(() => this.quiet(performance.now() - this.heardAt > QUIET_MS), MIND_MS);
    this.open();
  }

  open() {
    const socket = new WebSocket(this.address);
    this.socket = socket;
    socket.binaryType = "arraybuffer";
    socket.onopen = () => {
      this.tries = 0;
      this.heardAt = performance.now();
      this.state(true);
    };
    socket.onmessage = (message) => {
      this.heardAt = performance.now();
      if (typeof message.data === "string") this.words(JSON.parse(message.data));
      else this.picture(message.data, () => socket.readyState === WebSocket.OPEN && socket.send("a"));
    };
    socket.onclose = () => {
      if (this.closed) return;
      this.state(false);
      this.again = setTimeout(() => this.open(), WAITS_MS[Math.min(this.tries, WAITS_MS.length - 1)]);
      this.tries += 1;
    };
  }

  press(name, given) {
    if (this.socket.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify({ do: name, with: given || [] }));
    return true;
  }

  close() {
    this.closed = true;
    clearTimeout(this.again);
    clearInterval(this.minding);
    this.socket.close();
  }
}
