// The page's line to the recorder: words as JSON, pictures as bytes; it comes back by itself.
const WAITS_MS = [300, 600, 1200, 2500];

export class Wire {
  constructor(campaign, { words, picture, state }) {
    this.address = new URL("/record/wire", location.href);
    this.address.protocol = location.protocol === "https:" ? "wss:" : "ws:";
    this.address.searchParams.set("campaign", campaign);
    this.words = words;
    this.picture = picture;
    this.state = state;
    this.tries = 0;
    this.open();
  }

  open() {
    const socket = new WebSocket(this.address);
    this.socket = socket;
    socket.binaryType = "arraybuffer";
    socket.onopen = () => {
      this.tries = 0;
      this.state(true);
    };
    socket.onmessage = (message) => {
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
    this.socket.close();
  }
}
