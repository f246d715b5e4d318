/* Lists what keeper.js has kept, newest first; each can be gone on with or forgotten. Where this tab goes on with one of them, it is
   the case on the table. */
(() => {
  const STORE = "dryer-cases";
  const box = document.getElementById("recent");
  const read = () => {
    try {
      const found = JSON.parse(localStorage.getItem(STORE) ?? "[]");
      return Array.isArray(found) ? found : [];
    } catch {
      return [];
    }
  };
  const table = document.getElementById("on-the-table");
  const served = [table.querySelector("b").textContent, table.querySelector("span").textContent];
  const ofTab = (kept) => {
    try {
      const tab = JSON.parse(sessionStorage.getItem("dryer-case-of-tab")) ?? {};
      return tab.of === table.dataset.mark ? kept.find(({ base }) => base === tab.base) : undefined;
    } catch {
      return undefined;
    }
  };
  const paint = () => {
    const kept = read();
    const own = ofTab(kept);
    const called = own?.file ? `${own.name} (${own.file})` : own && `${own.name}${own.changed ? ", with the changes made here" : ""}`;
    table.querySelector("b").textContent = own ? called : served[0];
    table.querySelector("span").textContent = own ? "It stands behind every view that is opened in this tab." : served[1];
    box.hidden = !kept.length;
    box.querySelector("ul").replaceChildren(
      ...kept.map(({ base, name, file, at }) => {
        const line = document.createElement("li");
        const link = document.createElement("a");
        link.href = `compare#case=${encodeURIComponent(base)}`;
        link.textContent = String(name);
        const forget = document.createElement("button");
        forget.type = "button";
        forget.textContent = "Forget";
        forget.setAttribute("aria-label", `Forget ${name}`);
        forget.addEventListener("click", () => {
          localStorage.setItem(STORE, JSON.stringify(read().filter((entry) => entry.base !== base)));
          paint();
        });
        const when = at ? new Date(at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" }) : "";
        line.append(link, ` ${[file, when].filter(Boolean).join(", ")} `, forget);
        return line;
      }),
    );
  };
  paint();
})();
