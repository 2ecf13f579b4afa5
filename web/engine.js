// The engine's thread: runs the page's own program. The page hands it over compiled, or has the
// first such thread fetch and compile it for both.
// The program sees by pitwiseThread that it is no page, and listens to messages itself.
"use strict";

(() => {
  const address = new URL("wasm_exec.js", self.location.href).href;
  const policy = self.trustedTypes
    ? self.trustedTypes.createPolicy("pitwise", { createScriptURL: () => address })
    : { createScriptURL: () => address };
  importScripts(policy.createScriptURL(address));

  // Counts the bytes of a download as they come, all of them in so many; the page has better to do
  // than to draw each of some hundred pieces.
  function counted(response, all) {
    let done = 0;
    let told = 0;
    const count = new TransformStream({
      transform(chunk, out) {
        done += chunk.byteLength;
        if (done - told > all / 25) {
          told = done;
          self.postMessage({ done });
        }
        out.enqueue(chunk);
      },
    });
    return new Response(response.body.pipeThrough(count), { headers: { "Content-Type": "application/wasm" } });
  }

  // Fetches and compiles the program, for the page too.
  async function compiled({ all, stored }) {
    const response = await fetch(new URL("page.wasm", self.location.href));
    if (!response.ok) {
      throw new Error("page.wasm: status " + response.status);
    }
    const type = response.headers.get("Content-Type") || "";
    const direct = stored && type.startsWith("application/wasm");
    const module = await WebAssembly.compileStreaming(direct ? response : counted(response, all));
    self.postMessage({ module });
    return module;
  }

  // What planners grew for the terms that the page offers, before there was any page.
  self.pitwiseGrown = async () => {
    const response = await fetch(new URL("grown.bin", self.location.href));
    if (!response.ok) {
      throw new Error("grown.bin: status " + response.status);
    }
    return response.arrayBuffer();
  };

  self.pitwiseThread = true;
  self.addEventListener(
    "message",
    async (event) => {
      try {
        const go = new Go();
        const instance = await WebAssembly.instantiate(event.data.module || (await compiled(event.data)), go.importObject);
        await go.run(instance);
      } catch (err) {
        console.warn("pitwise: a thread ended:", err);
      } finally {
        // Without its program the thread is of no use; the page hears of it as of an error.
        self.postMessage({ pitwise: "ended" });
        self.close();
      }
    },
    { once: true }
  );
})();
