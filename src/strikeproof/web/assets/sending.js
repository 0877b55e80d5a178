"use strict";
// A file chosen in a field [data-sends] is sent at once, with how far it is and a stop; then its form is sent, with
// the name under which the file came in.
(() => {
  const problemOf = (request) => {
    if (request.status === 413) return "The file is larger than the server takes. Load the folder with `strikeproof load` instead.";
    if (request.status === 403) return "You are looking only: nothing was sent.";
    try {
      return JSON.parse(request.responseText).problem;
    } catch {
      return "It did not arrive. Try again.";
    }
  };
  const panel = (file, stop) => {
    const box = document.createElement("div");
    box.className = "working";
    box.innerHTML = '<progress max="1" value="0"></progress><span class="step"></span><button type="button" class="button">Stop</button>';
    box.querySelector("progress").setAttribute("aria-label", `Sending ${file.name}`);
    box.querySelector(".step").textContent = `0 % of ${file.name} sent`;
    box.querySelector("button").addEventListener("click", stop);
    return box;
  };
  const send = (field) => {
    const file = field.files[0];
    const said = field.form.querySelector("[data-sent]");
    field.value = "";
    if (!file) return;
    const request = new XMLHttpRequest();
    const box = panel(file, () => request.abort());
    const end = (problem) => {
      field.disabled = false;
      said.replaceChildren();
      if (!problem) return;
      const line = document.createElement("p");
      line.className = "error";
      line.setAttribute("role", "alert");
      line.textContent = problem;
      said.append(line);
    };
    field.disabled = true;
    said.replaceChildren(box);
    request.upload.onprogress = (now) => {
      const share = now.total ? now.loaded / now.total : 0;
      box.querySelector("progress").value = share;
      box.querySelector(".step").textContent = `${Math.round(100 * share)} % of ${file.name} sent`;
    };
    request.onload = () => {
      if (request.status !== 200) return end(problemOf(request));
      end();
      const { form } = field;
      form.elements.upload.value = JSON.parse(request.responseText).name;
      form.requestSubmit();
      form.elements.upload.value = ""; // sent again without a file it has none
      return undefined;
    };
    request.onerror = () => end("The connection to the server broke. Try again.");
    request.onabort = () => end();
    request.open("POST", "/upload/file");
    request.send(file);
  };
  document.addEventListener("change", (event) => {
    if (event.target.matches("[data-sends]")) send(event.target);
  });
})();
