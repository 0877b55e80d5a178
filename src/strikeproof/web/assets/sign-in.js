"use strict";
// The printed address carries the token in its fragment; it is taken out of the address bar before it is sent.
function takeToken() {
  const written = location.hash.slice(1);
  if (!written) return;
  history.replaceState(null, "", location.pathname);
  let token = written;
  try {
    token = decodeURIComponent(written);
  } catch {
    // a token that was typed by hand, with a bare percent sign
  }
  document.getElementById("token").value = token;
  document.querySelector("form").submit();
}
addEventListener("hashchange", takeToken); // the address was pasted into a tab that shows this page
takeToken();
