// The engine's thread: runs the page's own program, which the page hands over compiled.
// The program sees by pitwiseThread that it is no page, and listens to messages itself.
"use strict";

(() => {
  const address = new URL("wasm_exec.js", self.location.href).href;
  const policy = self.trustedTypes
    ? self.trustedTypes.createPolicy("pitwise", { createScriptURL: () => address })
    : { createScriptURL: () => address };
  importScripts(policy.createScriptURL(address));

  self.pitwiseThread = true;
  self.addEventListener(
    "message",
    async (event) => {
      try {
        const go = new Go();
        const instance = await WebAssembly.instantiate(event.data.module, go.importObject);
        await go.run(instance);
      } finally {
        // Without its program the thread is of no use; the page hears of it as of an error.
        self.postMessage({ pitwise: "ended" });
        self.close();
      }
    },
    { once: true }
  );
})();
