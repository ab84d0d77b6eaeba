"use strict";
// Runs before the window has loaded, when the terminal opens its connection.
const terminal = document.getElementById("terminal");
const again = document.getElementById("again");
const scheme = location.protocol === "https:" ? "wss://" : "ws://";
terminal.dataset.sessionWebsocketUrl = scheme + location.host + terminal.dataset.path;
again.addEventListener("click", () => location.reload());
// Keys go to the program once it can hear them, and to the button once it has gone.
let heard = false;
new MutationObserver(() => {
  const state = document.body.classList;
  if (state.contains("-closed")) {
    again.focus();
  } else if (state.contains("-loaded") && !heard) {
    heard = true;
    terminal.querySelector("textarea").focus();
  }
}).observe(document.body, { attributeFilter: ["class"] });
