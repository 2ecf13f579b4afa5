// The loader: gives go-app's runtime what it asks of the page, shows how far the
// download is, starts the program, and looks after the offline worker. The
// contract with the app is in doc.go.
"use strict";

(() => {
  const data = document.currentScript.dataset;
  const path = data.prefix.replace(/\/$/, "");
  const assets = data.assets.replace(/\/$/, "");
  const workerURL = data.prefix + "worker.js";

  // ---- Words -------------------------------------------------------------

  const words = {
    en: {
      about:
        "Pitwise asks for one step at a time, the one that is expected to save the most from here, and keeps the odds over everything that can be wrong with the drive. After this first visit it needs no network, and it never sends anything anywhere. Drives hold mains voltage, stored charge and invisible laser light: the cautions come before the steps. It guides; it does not certify.",
      size: (percent) => `Getting the program ready … ${percent} %`,
      start: "Starting …",
      failed: "The program could not be loaded. Is the network there?",
      old: "This browser cannot run WebAssembly. A newer one can.",
      again: "Try again",
      stopped: "The program stopped. What was shown as recorded is stored.",
      restart: "Start again",
    },
    de: {
      about:
        "Pitwise fragt nach einem Schritt zur Zeit, nach dem, der von hier aus am meisten sparen dürfte, und führt Buch über die Wahrscheinlichkeit von allem, was am Laufwerk fehlen kann. Nach diesem ersten Besuch braucht es kein Netz, und es sendet nie etwas irgendwohin. In Laufwerken stecken Netzspannung, gespeicherte Ladung und unsichtbares Laserlicht: die Warnungen kommen vor den Schritten. Es leitet an, es bescheinigt nichts.",
      size: (percent) => `Das Programm wird geholt … ${percent} %`,
      start: "Startet …",
      failed: "Das Programm ließ sich nicht laden. Ist das Netz da?",
      old: "Dieser Browser kann kein WebAssembly. Ein neuerer kann es.",
      again: "Noch einmal",
      stopped: "Das Programm ist stehen geblieben. Was als notiert angezeigt wurde, ist gespeichert.",
      restart: "Neu starten",
    },
    es: {
      about:
        "Pitwise pide un paso cada vez, el que más debería ahorrar desde aquí, y lleva las probabilidades de todo lo que puede fallar en el aparato. Después de esta primera visita no necesita red, y nunca envía nada a ninguna parte. Los aparatos guardan tensión de red, carga almacenada y luz láser invisible: los avisos van antes que los pasos. Orienta; no certifica.",
      size: (percent) => `Preparando el programa … ${percent} %`,
      start: "Arrancando …",
      failed: "No se pudo cargar el programa. ¿Hay red?",
      old: "Este navegador no puede ejecutar WebAssembly. Uno más nuevo sí.",
      again: "Otra vez",
      stopped: "El programa se detuvo. Lo que se mostró como anotado está guardado.",
      restart: "Arrancar de nuevo",
    },
    ja: {
      about:
        "Pitwise は、いまから最も節約になりそうな手順を一つずつ示し、ドライブに起こりうる故障すべての確率を保ちます。この最初の読み込みのあとはネットワークがいりません。どこにも何も送りません。ドライブには商用電源、残った電荷、目に見えないレーザー光があります。注意は手順の前に出ます。案内であって、保証ではありません。",
      size: (percent) => `プログラムを準備しています… ${percent} %`,
      start: "起動しています…",
      failed: "プログラムを読み込めませんでした。ネットワークはつながっていますか。",
      old: "このブラウザーでは WebAssembly が動きません。新しいものなら動きます。",
      again: "もう一度",
      stopped: "プログラムが止まりました。記録済みと表示されたものは保存されています。",
      restart: "再起動",
    },
  };
  const root = document.documentElement;
  const say = words[root.lang] || words.en; // look.js has set it

  // ---- What go-app's runtime asks for ------------------------------------

  const env = {
    GOAPP_VERSION: data.version,
    GOAPP_ROOT_PREFIX: path,
    GOAPP_STATIC_RESOURCES_URL: assets,
    GOAPP_INTERNAL_URLS: "[]",
  };
  window.goappGetenv = (key) => env[key];
  // The program puts its own functions here when it starts.
  window.goappNav = () => {};
  window.goappOnUpdate = () => {};
  window.goappOnAppInstallChange = () => {};

  let prompt = null;
  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    prompt = event;
    window.goappOnAppInstallChange();
  });
  window.addEventListener("appinstalled", () => {
    prompt = null;
    window.goappOnAppInstallChange();
  });
  window.goappIsAppInstalled = () =>
    window.matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
  window.goappIsAppInstallable = () => prompt !== null && !window.goappIsAppInstalled();
  window.goappShowInstallPrompt = async () => {
    if (prompt === null) {
      return;
    }
    prompt.prompt();
    await prompt.userChoice;
    prompt = null;
    window.goappOnAppInstallChange();
  };

  // The program has English in it; what it says in another language comes beside it. What
  // could not be had is asked for again.
  const texts = {};
  window.pitwiseWords = (lang) => {
    texts[lang] = texts[lang] || fetch(data.assets + "words/" + lang + ".txt").then((response) => {
      if (!response.ok) {
        throw new Error("words: status " + response.status);
      }
      return response.arrayBuffer();
    });
    texts[lang].catch(() => delete texts[lang]);
    return texts[lang];
  };
  if (root.lang !== "en") {
    window.pitwiseWords(root.lang);
  }

  // The one way from text to an address of code: both are files of this page.
  const scripts = { offline: workerURL, engine: data.assets + "engine.js" };
  const policy = window.trustedTypes
    ? window.trustedTypes.createPolicy("pitwise", { createScriptURL: (name) => scripts[name] })
    : { createScriptURL: (name) => scripts[name] };

  // ---- Updates -----------------------------------------------------------

  let registration = null;
  // Whether this page was served by a worker; a first worker is no update.
  let controlled = Boolean(navigator.serviceWorker && navigator.serviceWorker.controller);
  let agreed = false;

  const update = {
    waiting: false,
    ready: controlled,
    apply() {
      if (!update.waiting || !registration) {
        return;
      }
      agreed = true;
      (registration.waiting || registration.active).postMessage({ pitwise: "take-over" });
    },
    async check() {
      if (registration) {
        await registration.update();
      }
    },
  };
  window.pitwiseUpdate = update;

  function tell(change) {
    Object.assign(update, change);
    window.dispatchEvent(new Event("pitwise-update"));
    if (change.waiting) {
      window.goappOnUpdate();
    }
  }

  function watch(worker) {
    if (!worker) {
      return;
    }
    worker.addEventListener("statechange", () => {
      if (worker.state === "installed" && registration.active) {
        tell({ waiting: true });
      }
    });
  }

  async function keepOffline() {
    if (!navigator.serviceWorker) {
      return;
    }
    const takenOver = () => {
      if (agreed) {
        window.location.reload();
      } else if (controlled) {
        // Another window took the newer version; never reload in mid-step.
        tell({ waiting: true });
      }
      controlled = true;
    };
    navigator.serviceWorker.addEventListener("controllerchange", takenOver);
    navigator.serviceWorker.addEventListener("message", (event) => {
      if (event.data && event.data.pitwise === "taken-over") {
        takenOver();
      }
      // A newer worker may be in charge and serve the version agreed to before.
      if (event.data && event.data.pitwise === "version" && event.data.version !== data.version) {
        tell({ waiting: true });
      }
    });
    try {
      registration = await navigator.serviceWorker.register(policy.createScriptURL("offline"), { scope: data.prefix, updateViaCache: "none" });
    } catch (err) {
      // The page works on without it, but only while the server is there.
      console.warn("pitwise: not stored for offline use:", err);
      return;
    }
    navigator.serviceWorker.ready.then(() => tell({ ready: true }));
    if (registration.waiting && registration.active) {
      tell({ waiting: true });
    } else if (controlled && registration.active) {
      registration.active.postMessage({ pitwise: "which" });
    }
    watch(registration.installing);
    registration.addEventListener("updatefound", () => watch(registration.installing));
    const quietly = () => update.check().catch(() => {});
    window.setInterval(quietly, 60 * 60 * 1000);
    window.addEventListener("online", quietly);
  }

  // ---- The program -------------------------------------------------------

  const first = document.getElementById("first");
  const label = document.getElementById("first-label");
  const bar = document.getElementById("first-progress");
  const again = document.getElementById("first-again");
  const all = Number(data.bytes);

  // The empty bench is on the screen already; what is to be told goes into its foot. What
  // is tapped on it is done once the program is there.
  let tapped = -1;
  const touchable = "a[href], button, label.button";
  if (root.dataset.first === "bench") {
    const bench = first.querySelector(`.first-bench[lang="${root.lang}"]`);
    bench.querySelector(".foot-inner").prepend(document.getElementById("first-status"));
    bench.addEventListener("click", (event) => {
      const target = event.target.closest(touchable);
      if (!target || target === again) {
        return;
      }
      event.preventDefault();
      const page = bench.querySelector(".page");
      page.querySelectorAll('[aria-busy="true"]').forEach((other) => other.removeAttribute("aria-busy"));
      target.setAttribute("aria-busy", "true");
      tapped = [...page.querySelectorAll(touchable)].filter((e) => e !== again).indexOf(target);
    });
  } else if (!controlled) {
    // Something to read while the first download lasts.
    const about = document.getElementById("first-about");
    about.textContent = say.about;
    about.hidden = false;
  }

  // The program, which then keeps the page busy, waits until the first screen is drawn; a
  // page in the background is not drawn.
  const drawn = new Promise((done) => {
    requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done)));
    setTimeout(done, 200);
  });

  // The first screen goes when the program's view shows what is stored.
  const taking = new MutationObserver(() => {
    const view = document.body.firstElementChild;
    if (!view.querySelector("main") || view.querySelector("main.waiting")) {
      return;
    }
    taking.disconnect();
    first.remove();
    if (tapped >= 0 && view.querySelector(".welcome")) {
      const target = view.querySelectorAll(touchable)[tapped];
      target.focus();
      target.click();
    }
  });
  taking.observe(document.body, { childList: true, subtree: true });

  // What look.js needs to know at the next start.
  function remember() {
    const here = window.location.pathname;
    let units = true;
    if (here === data.prefix) {
      units = document.querySelector(".welcome") === null;
    } else if (!here.startsWith(data.prefix + "unit/")) {
      units = root.dataset.first !== "bench" || undefined;
    }
    try {
      window.localStorage.setItem("pitwise-look", JSON.stringify({ lang: root.lang, theme: root.dataset.theme, units }));
    } catch {
      // Without it the next start looks as the device wishes.
    }
  }
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden" && !first.isConnected) {
      remember();
    }
  });

  function show(done) {
    bar.value = done;
    label.textContent = done < all ? say.size(Math.floor((100 * done) / all)) : say.start;
  }

  function fail(text) {
    bar.hidden = true;
    label.textContent = text;
    again.textContent = say.again;
    again.hidden = false;
  }
  again.addEventListener("click", () => window.location.reload());

  const stopped = document.getElementById("stopped");
  const restart = document.getElementById("stopped-again");
  document.getElementById("stopped-label").textContent = say.stopped;
  restart.textContent = say.restart;
  restart.addEventListener("click", () => window.location.reload());

  // The engine's thread that compiled the program, until the program asks for one.
  let spare = null;

  // Has the program fetched and compiled in the engine's thread, so that the page is free
  // meanwhile; null where that cannot be. A browser may compile a function when it is first
  // called, for thread and page alike: at a first visit the thread goes first.
  function compiledBeside() {
    if (typeof Worker !== "function") {
      return null;
    }
    return new Promise((done) => {
      const engine = new Worker(policy.createScriptURL("engine"));
      let module = null;
      const over = () => {
        spare = null;
        done(module);
      };
      engine.addEventListener("error", over);
      engine.addEventListener("message", ({ data: told }) => {
        if (told.module) {
          spare = engine;
          module = told.module;
          if (controlled) {
            done(module);
          }
        } else if (told.done) {
          show(told.done);
        } else if (told.pitwise === "listens") {
          engine.listens = true;
          done(module);
        } else if (told.pitwise === "ended") {
          over();
        }
      });
      // A stored program goes straight to the compiler, which then can use what it compiled before.
      engine.postMessage({ all, stored: controlled });
    });
  }

  async function compiledHere() {
    const response = await fetch(data.assets + "page.wasm");
    if (!response.ok) {
      throw new Error("page.wasm: status " + response.status);
    }
    return WebAssembly.compileStreaming(new Response(response.body, { headers: { "Content-Type": "application/wasm" } }));
  }

  // Starts the program once more in a thread of its own, from what is compiled already.
  function engineOf(module) {
    if (typeof Worker !== "function") {
      return null;
    }
    return () => {
      const engine = spare || new Worker(policy.createScriptURL("engine"));
      if (engine !== spare) {
        engine.postMessage({ module });
      }
      spare = null;
      return engine;
    };
  }

  async function start() {
    if (typeof WebAssembly !== "object" || !WebAssembly.compileStreaming || typeof Go !== "function") {
      fail(say.old);
      return;
    }
    const go = new Go();
    let program;
    try {
      show(0);
      const module = (await compiledBeside()) || (await compiledHere());
      show(all);
      window.pitwiseEngine = engineOf(module);
      program = await WebAssembly.instantiate(module, go.importObject);
    } catch (err) {
      console.warn("pitwise: the program could not be loaded:", err);
      fail(say.failed);
      return;
    }
    performance.mark("pitwise-compiled");
    await drawn;
    await new Promise((done) => setTimeout(done)); // what was tapped comes first
    go.run(program).finally(() => {
      stopped.hidden = false;
    });
  }

  start().finally(keepOffline);
})();
