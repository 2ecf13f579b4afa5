// Runs before anything is drawn: the language and the look that the person chose here, or
// else those of the device, and whether the first screen is the empty bench.
"use strict";

(() => {
  const root = document.documentElement;
  let look = {};
  try {
    look = JSON.parse(window.localStorage.getItem("pitwise-look")) || {};
  } catch {
    // Storage that is denied or damaged has nothing to say.
  }
  const speaks = ["en", "de", "es", "ja"];
  root.lang =
    [look.lang, ...(navigator.languages || [navigator.language])]
      .map((tag) => String(tag).slice(0, 2).toLowerCase())
      .find((tag) => speaks.includes(tag)) || "en";
  if (look.theme) {
    root.dataset.theme = look.theme;
  }
  const bench = window.location.pathname === document.currentScript.dataset.prefix;
  root.dataset.firstLang = root.lang; // the program may change the other before it has its view
  root.dataset.first = bench && !look.units ? "bench" : "waiting";
})();
