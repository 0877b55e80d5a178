// The screen at the rig. The server says every word (web/record_words.py); here they are put in their places.
import { LiveChart } from "/assets/live_chart.js";
import { Wire } from "/assets/record_wire.js";
import { NONE, USUAL, keepKey, keptKey, listen, nameKey } from "/assets/record_keys.js";
import { CHOICES, Signals } from "/assets/record_signals.js";
import * as Vue from "/assets/vue/vue.esm-browser.prod.js";

const say = (text) => text; // marks a text for the catalogues; it is said in the screen's language where it is shown
const STATES = {
  off: ["wait", say("Off"), say("The recording has ended; rig and run sheet are free."), say("Start the recorder to go on.")],
  starting: ["wait", say("Starting"), say("The recorder is starting."), say("Wait a moment.")],
  failed: ["bad", say("Not started"), "", ""],
  gone: ["bad", say("Stopped"), say("The recorder stopped by itself; what it recorded is on disk."), say("Start it again.")],
};
const LOST = {
  recording: ["bad", say("Release trigger"), say("The connection to the server is lost: this screen does not watch the load."), say("This page reconnects by itself.")],
  armed: ["bad", say("Do not hammer"), say("The connection to the server is lost: this screen does not watch the load."), say("This page reconnects by itself.")],
};
const GONE = {
  recording: ["bad", say("Release trigger"), say("The recorder stopped by itself; the run is on disk."), say("Start it again.")],
  armed: ["bad", say("Do not hammer"), say("The recorder stopped by itself."), say("Start it again.")],
};
const NO_SERVER = ["wait", say("No server"), say("The connection to the server is lost."), say("This page reconnects by itself.")];

const EMPTY = {
  state: "starting", other: "", screens: 1, failure: null, phase: "", status: null, main: null, second: null,
  verdict: null, run: null, cool: "", cautions: [], live: null, progress: null, undo: null, news: [], signal: "",
  line: { port: "", speaks: "", trouble: "", simulated: false, ours: false }, ports: [], recent: [], can_decide: false, can_plan: true, simulated: "", marked: false,
};
const RIG = "strikeproof.record.rig"; // port and baud rate that were connected last on this device
const rememberedRig = () => {
  try {
    const { port, baud } = JSON.parse(localStorage.getItem(RIG) || "{}");
    return { port: String(port || ""), baud: String(baud || "115200") };
  } catch {
    return { port: "", baud: "115200" };
  }
};
const UNREAD_MS = 300; // nobody reads faster; another screen may have turned the button meanwhile
const SIGNS = {
  calm: "M12 4a8 8 0 1 0 .01 0", wait: "M12 3a9 9 0 1 0 .01 0M12 7v6l4 2",
  armed: "M12 5a7 7 0 1 0 .01 0M12 1v6M12 17v6M1 12h6M17 12h6", live: "M5 12h3l2-6 4 12 2-6h3",
  good: "M4 13l5 5L20 6", bad: "M5 5l14 14M19 5L5 19",
};

const render = window.strikeproofRender(Vue); // record_template.js, compiled by scripts/record_render.py
render._rc = true; // as the library marks what it compiles itself: names are looked up in the screen

const screen = {
  render,
  props: { campaign: String, runs: String, compare: String, mishaps: Array, language: String, words: Object },
  data: () => ({
    said: { ...EMPTY }, wired: true, quiet: false, refused: null, sure: false, asking: null, typed: "", ...rememberedRig(), signals: null, signalChoices: CHOICES, signalling: "off",
    mishap: "", key: keptKey(), learning: false, heard: {}, full: false, unit: "", band: 0, limit: false, signs: SIGNS,
  }),
  computed: {
    status() {
      const { state, other, failure, status } = this.said;
      if (other) {
        return { tone: "wait", title: this.say("Elsewhere"), detail: this.say("The rig records {other} now.", { other }), fix: this.say("Record this campaign instead, or open the other one.") };
      }
      const { phase } = this.said;
      if (LOST[phase] && (!this.wired || (this.quiet && state === "on"))) return this.asStatus(LOST[phase]);
      if (!this.wired) return this.asStatus(NO_SERVER);
      if (GONE[phase] && state === "gone") return this.asStatus(GONE[phase]);
      if (state === "on" && status) return status;
      const [tone, title, detail, fix] = STATES[state === "on" ? "starting" : state];
      return this.asStatus(failure && state === "failed" ? [tone, title, failure.what, failure.fix] : [tone, title, detail, fix]);
    },
    main() {
      const { state, other, main } = this.said;
      if (other) return { label: this.say("Record this campaign"), do: "switch", tone: "calm", ask: "" };
      if (state === "on" && main) return main;
      return state === "starting" || state === "on" ? { label: this.say("Wait"), do: null, tone: "calm", ask: "" } : { label: this.say("Start the recorder"), do: "start", tone: "calm", ask: "" };
    },
    told() {
      if (this.refused) return { bad: true, what: this.refused.what, fix: this.refused.fix };
      return this.sure ? { bad: false, what: this.main.ask, fix: "" } : null;
    },
    spoken() {
      const at = this.status;
      return `${at.title}. ${at.detail} ${at.fix}`;
    },
    signal() {
      const { state, other, phase, signal } = this.said;
      if (other) return "";
      const lost = (LOST[phase] && (!this.wired || (this.quiet && state === "on"))) || (GONE[phase] && state === "gone");
      return lost ? "stop" : signal;
    },
    keyName() {
      return this.say(nameKey(this.key));
    },
    chosenPort() {
      return this.port || (this.said.ports[0] ? this.said.ports[0][0] : "");
    },
  },
  watch: {
    "main.do"() {
      this.sure = false;
      if (this.asking && this.asking.must) this.asking = null; // another screen may have answered it
      this.turnedAt = performance.now();
    },
    signal(name, before) {
      // What was there when the page came is no news; the recorder's first words come with its state.
      if (this.knows && name && name !== before) this.signals.give(name, `${this.status.title}. ${this.status.fix || this.status.detail}`, this.language);
    },
    "said.phase"() {
      this.refused = null;
    },
  },
  mounted() {
    this.turnedAt = -Infinity;
    this.chart = new LiveChart(this.$refs.plot);
    this.signals = Vue.markRaw(new Signals());
    this.signalling = this.signals.choice;
    this.wakesSound = () => this.signals.wake();
    document.addEventListener("pointerdown", this.wakesSound);
    document.addEventListener("keydown", this.wakesSound);
    this.wire = new Wire(this.campaign, {
      words: (words) => this.take(words),
      picture: (bytes, drawn) => this.chart.take(bytes, drawn),
      state: (open) => this.open(open),
      quiet: (quiet) => {
        this.quiet = quiet;
      },
    });
    this.deafen = listen(this);
    this.fills = () => {
      this.full = Boolean(document.fullscreenElement);
    };
    document.addEventListener("fullscreenchange", this.fills);
    this.wakes = () => this.stayAwake();
    document.addEventListener("visibilitychange", this.wakes);
    this.stayAwake();
  },
  unmounted() {
    this.wire.close();
    this.chart.close();
    this.signals.close();
    document.removeEventListener("pointerdown", this.wakesSound);
    document.removeEventListener("keydown", this.wakesSound);
    this.deafen();
    document.removeEventListener("fullscreenchange", this.fills);
    document.removeEventListener("visibilitychange", this.wakes);
  },
  methods: {
    say(text, facts = {}) {
      const said = this.words[text] || text;
      return said.replace(/\{(\w+)\}/g, (whole, name) => (name in facts ? facts[name] : whole));
    },
    asStatus([tone, ...texts]) {
      const [title, detail, fix] = texts.map((text) => text && this.say(text));
      return { tone, title, detail, fix };
    },
    open(open) {
      clearTimeout(this.doubting);
      if (open) {
        this.wired = true;
        this.knows = false;
        this.said = { ...EMPTY };
      } else {
        const hammering = this.said.phase === "recording" || this.said.phase === "armed";
        const doubt = hammering ? 0 : 400; // a page that is reloaded must not flash
        this.doubting = setTimeout(() => {
          this.wired = false;
        }, doubt);
      }
    },
    take(words) {
      if (words.refused) {
        this.refused = words.refused;
        return;
      }
      if (words.axes) {
        this.chart.setAxes(words.axes);
        this.unit = words.axes.unit;
        this.limit = words.axes.allowed !== null;
        this.band = words.axes.band ? words.axes.band.runs : 0;
        return;
      }
      if (words.state === "off") this.said = { ...EMPTY };
      Object.assign(this.said, words);
      if (words.phase !== undefined) this.$nextTick(() => { this.knows = true; });
    },
    connect() {
      const rig = { port: this.chosenPort, baud: this.baud };
      localStorage.setItem(RIG, JSON.stringify(rig));
      this.press("connect", rig.port, rig.baud);
      this.toTop();
    },
    simulate() {
      this.press("simulate");
      this.toTop();
    },
    // What happens next is said at the top.
    toTop() {
      document.activeElement?.blur?.();
      window.scrollTo({ top: 0 });
    },
    chooseSignals(event) {
      this.signalling = event.target.value;
      this.signals.choose(this.signalling);
    },
    trySignal() {
      this.signals.give("ready", this.say("Ready"), this.language);
    },
    press(name, ...given) {
      this.refused = null;
      if (!this.wire.press(name, given)) this.refused = { what: this.say("There is no connection to the server"), fix: this.say("wait until it is back") };
    },
    pressMain() {
      const { do: name, ask } = this.main;
      if (!name || !this.wired) return;
      if (this.asking && this.asking.must) {
        this.$refs.asked.focus(); // a foot switch neither answers the question nor goes past it
        return;
      }
      if (performance.now() - this.turnedAt < UNREAD_MS) return; // pressed for what it said before
      if (ask && !this.sure) {
        this.sure = true;
        return;
      }
      this.sure = false;
      if (name === "show rig") this.showRig();
      else if (name === "change bolt") this.askWhichBolt();
      else this.press(name);
    },
    showRig() {
      this.$refs.rig.scrollIntoView({ block: "center" });
      this.$refs.port.focus({ preventScroll: true });
    },
    newBolt() {
      if (this.said.main && this.said.main.do === "change bolt") this.askWhichBolt();
      else this.ask("bolt", this.say("New bolt"), this.say("Name of the new bolt; empty for the next number"), []);
    },
    askWhichBolt() {
      // Only who looks at the bolt may answer: nothing is filled in, and no press of Enter is taken for a yes.
      this.ask("bolt", this.say("The new bolt is in"), this.say("Its name or number"), []);
      Object.assign(this.asking, { must: true, hint: this.say("such as {name}", { name: this.main.suggest }) });
    },
    ask(name, title, label, given, text) {
      this.asking = { name, title, label, given, must: false, hint: "" };
      this.typed = text || "";
      this.$nextTick(() => this.$refs.asked && this.$refs.asked.focus());
    },
    answer() {
      const { name, given, must } = this.asking;
      if (must && !this.typed.trim()) return;
      this.press(name, ...given, this.typed.trim());
      this.asking = null;
    },
    learn(key) {
      this.learning = false;
      if (key === null) return;
      this.setKey(key);
    },
    setKey(key) {
      this.key = key;
      keepKey(key);
    },
    usualKey() {
      this.setKey(USUAL);
    },
    noKey() {
      this.setKey(NONE);
    },
    fill() {
      if (document.fullscreenElement) document.exitFullscreen();
      else this.$refs.root.requestFullscreen();
    },
    async stayAwake() {
      // A tablet that goes dark at the rig is of no use; where it cannot be asked, nothing is lost.
      if (document.hidden || !navigator.wakeLock) return;
      this.awake = await navigator.wakeLock.request("screen").catch(() => null);
    },
    async hear(run, event) {
      const file = event.target.files[0];
      event.target.value = "";
      if (!file) return;
      this.heard[run] = { busy: true, file: file.name };
      this.heard[run] = await this.send(run, file);
    },
    async send(run, file) {
      try {
        const came = await fetch("/upload/file", { method: "POST", body: file });
        if (!came.ok) return { problem: this.say("The sound did not arrive."), fix: this.say("Send it again.") };
        const told = { campaign: this.campaign, run, came: (await came.json()).name, called: file.name };
        const answer = await fetch("/record/sound", {
          method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(told),
        });
        const heard = await answer.json();
        return answer.ok ? heard : { problem: heard.what, fix: heard.fix };
      } catch {
        return { problem: this.say("The connection to the server broke."), fix: this.say("Send it again.") };
      }
    },
  },
};

const place = document.getElementById("recorder");
Vue.createApp(screen, JSON.parse(place.dataset.screen)).mount(place);
