/* Runs in the head, before the first paint. */
(() => {
  const root = document.documentElement;
  const FIRST = '#rendered_cells :is(.jupyter-widgets .jupyter-widgets, [data-mime-type$=".stderr"])';

  /* Light or dark: the visitor's choice, else the system's. Paper is always light. */
  const set = (mode) => {
    root.dataset.mode = mode;
    dispatchEvent(new Event("modechange"));
  };
  const chosen = () => localStorage.getItem("mode") ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
  set(chosen());
  document.addEventListener("click", (event) => {
    if (!event.target.closest("#mode")) return;
    localStorage.setItem("mode", root.dataset.mode === "dark" ? "light" : "dark");
    set(chosen());
  });
  /* What is turned to somebody else begins at its top. */
  document.addEventListener("click", (event) => {
    if (event.target.closest(".to-top")) scrollTo(0, 0);
  });
  addEventListener("beforeprint", () => set("light"));
  addEventListener("afterprint", () => set(chosen()));

  /* Leaving the page ends its kernel. Voilà asks for that only once all widgets are there, and not on every browser; its
     request needs an _xsrf cookie, which the first page load does not set. */
  if (!/(^|; )_xsrf=/.test(document.cookie)) {
    const token = Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
    document.cookie = `_xsrf=${token};path=/;SameSite=Strict`;
  }

  addEventListener("pagehide", () => {
    const page = document.getElementById("jupyter-config-data");
    const form = new FormData();
    form.append("_xsrf", /(?:^|; )_xsrf=([^;]*)/.exec(document.cookie)[1]);
    if (page) navigator.sendBeacon(`/voila/api/shutdown/${JSON.parse(page.textContent).kernelId}`, form);
  });

  /* A panel that says where a number comes from stands by that number. */
  document.addEventListener(
    "toggle",
    ({ target, newState }) => {
      const by = newState === "open" && target.id && document.querySelector(`[popovertarget="${CSS.escape(target.id)}"]`);
      if (!by) return;
      const [place, size] = [by.getBoundingClientRect(), target.getBoundingClientRect()];
      const below = place.bottom + 6 + size.height < innerHeight;
      target.style.left = `${Math.max(8, Math.min(place.right - size.width, innerWidth - size.width - 8))}px`;
      target.style.top = `${below ? place.bottom + 6 : Math.max(8, place.top - size.height - 6)}px`;
    },
    true,
  );

  /* anywidget 0.11 gives a widget's module 2 s to be read; where that takes longer, as on a slow tablet while the charts'
     library is read, the widget would hear nothing of the kernel for ever. A minute is by judgement. */
  const timeout = AbortSignal.timeout;
  AbortSignal.timeout = (milliseconds) => timeout.call(AbortSignal, Math.max(milliseconds, 60000));

  setTimeout(() => root.classList.add("late"), 20000);
  new MutationObserver(() => {
    /* The waiting state gives way to the first widget, or to the sentence that says why there is none. */
    const skeleton = document.getElementById("skeleton");
    if (skeleton && document.querySelector(FIRST)) {
      skeleton.remove();
      root.classList.add("ready");
    }
    /* What ipywidgets 8.1 does not tell a screen reader: a slider's name, which of several buttons is pressed, and
       that a text is worth telling when it changes. */
    for (const handle of document.querySelectorAll(".noUi-handle:not([aria-label])")) {
      const label = handle.closest(".widget-inline-hbox")?.querySelector(".widget-label");
      if (label) handle.setAttribute("aria-label", label.textContent);
    }
    for (const told of document.querySelectorAll(".announced:not([role])")) told.setAttribute("role", "status");
    for (const button of document.querySelectorAll(".widget-toggle-button")) {
      const pressed = String(button.classList.contains("mod-active"));
      if (button.getAttribute("aria-pressed") !== pressed) button.setAttribute("aria-pressed", pressed);
    }
  }).observe(root, { childList: true, subtree: true, attributeFilter: ["class"] });
})();
