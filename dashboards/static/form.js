/* Draws the parts that the Python side describes and tells it what is entered. A part keeps its element as long as its id
   and kind stay, so that cursor, selection and what is being typed outlive every answer. */
let forms = 0;

export default {
  render({ model, el }) {
    const prefix = `form${++forms}-`;
    const shown = new Map(); // id -> its elements
    const bases = [["not said", ""], ...model.get("bases").map((basis) => [basis, basis])];
    el.classList.add("form");

    const tell = (id, text, part = "value") => model.send({ id, part, text: String(text), shape: model.get("shape") });

    const CONTROLS = controls(model, tell);

    const labelled = (built, id, text) => {
      built.control.id = id;
      const label = make("label", "label", text);
      label.htmlFor = id;
      return label;
    };

    function field(part) {
      const node = make("div", `field as-${part.as}`);
      const id = prefix + part.id;
      const built = CONTROLS[part.as](part, "value");
      const label = labelled(built, id, part.label);
      const foot = make("div", "foot");
      const note = make("p");
      note.id = `${id}-note`;
      built.control.setAttribute("aria-describedby", note.id);
      foot.append(note);
      node.append(label, ...(built.above ?? []), built.control, ...(built.beside ? [built.beside] : []), foot);
      let more;
      return {
        node,
        first: built.control,
        update(part) {
          label.textContent = part.label;
          built.put(part.value, part);
          built.control.disabled = Boolean(part.disabled);
          node.classList.toggle("left-out", Boolean(part.left));
          if (part.name) built.control.setAttribute("aria-label", part.name);
          const wrong = part.problem ?? "";
          if (note.textContent !== (wrong || (part.hint ?? ""))) {
            note.textContent = wrong || (part.hint ?? "");
            note.className = wrong ? "problem" : "hint";
            wrong ? note.setAttribute("role", "alert") : note.removeAttribute("role");
          }
          built.control.setAttribute("aria-invalid", String(Boolean(wrong)));
          if (part.more && !more) {
            more = range(part, id);
            foot.append(more.button);
            node.append(more.node);
          }
          more?.update(part);
          foot.hidden = !note.textContent && !more;
        },
      };
    }

    /* Range and source of a quantity, behind a button. */
    function range(part, id) {
      const button = make("button", "more");
      button.type = "button";
      const node = make("div", "range");
      node.id = `${id}-range`;
      node.hidden = true;
      button.setAttribute("aria-controls", node.id);
      button.setAttribute("aria-expanded", "false");
      button.addEventListener("click", () => {
        node.hidden = !node.hidden;
        button.setAttribute("aria-expanded", String(!node.hidden));
      });
      const words = make("p", "hint");
      const inner = ["low", "high", "basis", "note"].map((key) => {
        const built = CONTROLS[key === "basis" ? "choice" : "text"](part, key);
        const label = labelled(built, `${id}-${key}`, "");
        const cell = make("div", `cell ${key}`);
        cell.append(label, built.control);
        node.append(cell);
        return { key, built, label };
      });
      node.append(words);
      return {
        button,
        node,
        update({ more }) {
          button.textContent = more.summary;
          button.setAttribute("aria-label", `${more.of}: ${more.summary}`);
          words.textContent = more.words;
          for (const { key, built, label } of inner) {
            const text = { basis: "rests on", note: "source or note" }[key] ?? (more.sign ? `${key} (${more.sign})` : key);
            label.textContent = text;
            built.control.setAttribute("aria-label", `${more.of}, ${text}`);
            built.put(more[key], { options: bases });
          }
        },
      };
    }

    function several(part) {
      const node = make("fieldset", "field several");
      const legend = make("legend", "label", part.label);
      const note = make("p");
      node.append(legend);
      const boxes = part.options.map(([text, value]) => {
        const input = make("input");
        input.type = "checkbox";
        input.value = value;
        input.setAttribute("aria-label", `${part.name ?? part.label}: ${text}`);
        input.addEventListener("change", () => {
          const chosen = boxes.filter((box) => box.checked).map((box) => box.value);
          tell(part.id, chosen.join(" "));
        });
        const label = make("label", "box");
        label.append(input, text);
        node.append(label);
        return input;
      });
      node.append(note);
      return {
        node,
        first: boxes[0],
        update(part) {
          for (const box of boxes) box.checked = part.value.includes(box.value);
          note.textContent = part.problem || part.hint || "";
          note.className = part.problem ? "problem" : "hint";
          note.hidden = !note.textContent;
          part.problem ? note.setAttribute("role", "alert") : note.removeAttribute("role");
        },
      };
    }

    function fold(part) {
      const node = make("details", `fold level-${part.level ?? 1}`);
      const summary = make("summary");
      const [title, state] = [make("span", "title"), make("span", "state")];
      summary.append(title, state);
      const body = make("div", "parts");
      node.append(summary, body);
      let told = Boolean(part.open);
      node.open = told;
      node.addEventListener("toggle", () => {
        if (node.open === told) return;
        told = node.open;
        tell(part.id, told ? "yes" : "no", "open");
      });
      return {
        node,
        first: summary,
        update(part) {
          title.textContent = part.title;
          state.textContent = part.problem || part.state || "";
          state.classList.toggle("wrong", Boolean(part.problem));
          if (Boolean(part.open) !== node.open && Boolean(part.open) !== told) {
            told = Boolean(part.open);
            node.open = told;
          }
          place(body, part.parts ?? []);
        },
      };
    }

    function group(part) {
      const node = make("div", `group ${part.as ?? ""}`);
      if (part.label) node.setAttribute("role", "group");
      return {
        node,
        first: node,
        update(part) {
          if (part.label) node.setAttribute("aria-label", part.label);
          place(node, part.parts ?? []);
        },
      };
    }

    function button(part) {
      const node = make("button", `jupyter-button ${part.as ?? ""}`);
      node.type = "button";
      node.addEventListener("click", () => tell(part.id, "", "press"));
      return {
        node,
        first: node,
        update(part) {
          node.textContent = part.label;
          node.setAttribute("aria-label", part.name ?? part.label);
          node.disabled = Boolean(part.disabled);
        },
      };
    }

    /* A button that takes one file; what is too large is not sent, since such a message would close the connection. */
    function file(part) {
      const node = make("div", "field file");
      const button = make("button", "jupyter-button upload");
      button.type = "button";
      const input = make("input");
      input.type = "file";
      input.hidden = true;
      const note = make("p");
      const say = (text, wrong) => {
        note.textContent = text;
        note.className = wrong ? "problem" : "hint";
        wrong ? note.setAttribute("role", "alert") : note.removeAttribute("role");
      };
      button.addEventListener("click", () => input.click());
      input.addEventListener("change", async () => {
        const [chosen] = input.files;
        input.value = ""; // the same file can be chosen again
        if (!chosen) return;
        if (chosen.size > part.limit) {
          say(`${chosen.name} has ${(chosen.size / 1e6).toFixed(1)} MB; at most ${part.limit / 1e6} MB are taken.`, true);
          return;
        }
        try {
          const content = await chosen.arrayBuffer();
          model.send({ id: part.id, part: "file", text: chosen.name, shape: model.get("shape") }, undefined, [content]);
        } catch {
          say(`${chosen.name} cannot be read.`, true);
        }
      });
      node.append(button, input, note);
      return {
        node,
        first: button,
        update(part) {
          button.textContent = part.label;
          for (const node of [button, input]) node.setAttribute("aria-label", part.name ?? part.label);
          input.accept = part.accept;
          say(part.problem || part.hint || "", Boolean(part.problem));
        },
      };
    }

    function words(part) {
      const node = make({ title: "h2", subtitle: "h3" }[part.as] ?? "p", part.as === "problem" ? "problem" : part.as === "hint" ? "hint" : "");
      return { node, first: node, update: (part) => (node.textContent = part.label) };
    }

    const table = (part) => typedTable(part, tell);
    const KINDS = { field, several, table, fold, group, button, file, words };

    const drop = (node) => {
      for (const [id, entry] of shown) if (node.contains(entry.node)) shown.delete(id);
      node.remove();
    };

    /* The children of a node become those of the parts, in their order; what stays is not taken out of the page. */
    function place(parent, parts) {
      const entries = parts.map((part) => {
        const kind = `${part.kind} ${part.as ?? ""}`;
        const entry = shown.get(part.id);
        if (entry?.kind === kind) return entry;
        if (entry) drop(entry.node);
        const made = { ...KINDS[part.kind](part), kind };
        shown.set(part.id, made);
        return made;
      });
      const wanted = new Set(entries.map(({ node }) => node));
      for (const child of [...parent.children]) if (!wanted.has(child)) drop(child);
      entries.forEach((entry, i) => {
        const here = parent.children[i];
        if (here !== entry.node) parent.insertBefore(entry.node, here ?? null);
        entry.update(parts[i]);
      });
    }

    const focus = (content) => {
      const entry = shown.get(content?.focus);
      entry?.node.closest("details:not([open])")?.setAttribute("open", "");
      const target = entry?.first.matches("input, select, button, summary") ? entry.first : entry?.first.querySelector("input, select, button");
      target?.focus();
    };
    const paint = () => place(el, model.get("parts"));
    model.on("change:parts", paint);
    model.on("msg:custom", focus);
    paint();
    return () => {
      model.off("change:parts", paint);
      model.off("msg:custom", focus);
    };
  },
};
