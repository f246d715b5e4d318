/* Keeps the case in the browser: every change goes to its storage; on opening a page, what was kept of the case goes back to
   the Python side. Entries are kept by the mark of the case as opened; a tab remembers which of them it shows, and says so
   where another tab has changed it since. */
const STORE = "dryer-cases";
const TAB = "dryer-case-of-tab";
const MOST = 12;

function entries() {
  try {
    const found = JSON.parse(localStorage.getItem(STORE) ?? "[]");
    return Array.isArray(found) ? found : [];
  } catch {
    return [];
  }
}

function store(list) {
  /* Where the storage is full the oldest entries make room, then the steps of Undo; where there is none, nothing is kept. */
  for (let kept = list.slice(0, MOST); ; ) {
    try {
      localStorage.setItem(STORE, JSON.stringify(kept));
      return true;
    } catch {
      if (!kept.length) return false;
      if (kept.length === 1 && kept[0].back?.length) kept = [{ ...kept[0], back: [], leap: false }];
      else kept = kept.slice(0, -1);
    }
  }
}

function ofTab() {
  try {
    return JSON.parse(sessionStorage.getItem(TAB)) ?? {};
  } catch {
    return {};
  }
}

export default {
  render({ model, el }) {
    const note = document.createElement("p");
    note.className = "hint";
    note.setAttribute("role", "status");
    el.append(note);
    const served = model.get("served");

    const wanted = new URLSearchParams(location.hash.slice(1)).get("case"); // from the first page
    if (wanted) history.replaceState(null, "", location.pathname);
    const tab = ofTab();
    const mark = wanted ?? (tab.served === served ? tab.base : served);
    const found = entries().find(({ base }) => base === mark);
    if (found) model.send({ kept: JSON.stringify(found) });

    let shown = { base: mark, text: found?.text };
    const elsewhere = (event) => {
      if (event.key !== STORE) return;
      const theirs = entries().find(({ base }) => base === shown.base);
      if (theirs?.text === shown.text) {
        note.replaceChildren();
        return;
      }
      const show = document.createElement("button");
      show.type = "button";
      show.textContent = "Show it here";
      show.addEventListener("click", () => model.send({ kept: JSON.stringify(theirs), elsewhere: true }));
      const undone = "Another window of this browser has taken this case back to how it was opened. ";
      const changed = "This case has been changed in another window of this browser. ";
      const next = "A change made here takes the place of that. ";
      note.replaceChildren(theirs ? changed : undone, next, ...(theirs ? [show] : []));
    };
    addEventListener("storage", elsewhere);

    const keep = () => {
      const entry = JSON.parse(model.get("kept"));
      const served = model.get("served");
      try {
        sessionStorage.setItem(TAB, JSON.stringify({ served, base: entry.base, of: model.get("file_mark") }));
      } catch {
        /* a browser without storage */
      }
      const others = entries().filter(({ base }) => base !== entry.base);
      const all = entry.text ? [{ ...entry, at: Date.now() }, ...others] : others;
      shown = { base: entry.base, text: entry.text };
      const safe = store(all);
      note.textContent = safe || !entry.changed ? "" : "This browser keeps nothing: download the case before you leave.";
      el.dataset.kept = String(model.get("times"));
    };
    model.on("change:kept", keep);
    return () => {
      removeEventListener("storage", elsewhere);
      model.off("change:kept", keep);
    };
  },
};
