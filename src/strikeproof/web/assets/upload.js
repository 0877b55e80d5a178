// A field that sends one file, shows how far it is, and can be stopped.
function problemOf(request) {
  try {
    return JSON.parse(request.responseText).problem;
  } catch {
    return "";
  }
}

export default {
  template: `<div class="upload">
    <label class="field"><span>{{ label }}</span>
      <input type="file" :accept="accept" @change="choose" :disabled="sending"></label>
    <div v-if="sending" class="working" role="status">
      <progress :value="share" max="1" :aria-label="'Sending ' + file"></progress>
      <span class="step">{{ Math.round(100 * share) }} % of {{ file }} sent</span>
      <button type="button" class="button" @click="stop">Stop</button>
    </div>
    <p v-if="problem" class="error" role="alert">{{ problem }}</p>
  </div>`,
  props: { label: String, accept: String },
  data: () => ({ sending: false, share: 0, file: "", problem: "" }),
  methods: {
    choose(event) {
      const file = event.target.files[0];
      event.target.value = "";
      if (!file) return;
      this.file = file.name;
      this.problem = "";
      this.sending = true;
      this.share = 0;
      const request = new XMLHttpRequest();
      this.request = request;
      request.upload.onprogress = (now) => {
        this.share = now.total ? now.loaded / now.total : 0;
      };
      request.onload = () => {
        this.sending = false;
        if (request.status === 200) this.$emit("uploaded", JSON.parse(request.responseText).name);
        else if (request.status === 413) this.problem = "The file is larger than the server takes. Load the folder with `strikeproof load` instead.";
        else this.problem = problemOf(request) || "It did not arrive. Try again.";
      };
      request.onerror = () => {
        this.sending = false;
        this.problem = "The line to the server broke. Try again.";
      };
      request.onabort = () => {
        this.sending = false;
      };
      request.open("POST", "/upload/file");
      request.send(file);
    },
    stop() {
      this.request.abort();
    },
  },
};
