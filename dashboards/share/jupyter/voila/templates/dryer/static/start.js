/* Lists what keeper.js has kept, newest first; each can be gone on with or forgotten. */
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
  const paint = () => {
    const kept = read();
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
