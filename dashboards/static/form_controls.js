/* The controls of a field, by the kind that the Python side names; form.py lays this before form.js. Each gives its element, `put` to
   show a value, and what stands `above` or `beside` it. */

/* An element, also for the other files of the form. */
const make = (tag, className = "", text = "") => {
  const node = document.createElement(tag);
  if (className) node.className = className;
  node.textContent = text;
  return node;
};

const HALT = 60; // ms without a move of a slider that is held, by judgement

const controls = (model, tell) => {
  /* One text that is sent when it is left or Enter is pressed. */
  const typed = (input, id, part) => {
    let sent = "";
    const commit = () => {
      if (input.value === sent) return;
      sent = input.value;
      tell(id, input.value, part);
    };
    input.addEventListener("change", commit);
    input.addEventListener("keydown", (event) => event.key === "Enter" && commit());
    return (value) => {
      const busy = document.activeElement === input && input.value !== sent;
      if (!busy) input.value = value;
      sent = value;
    };
  };

  return {
    text(part, key) {
      const input = make("input");
      input.type = "text";
      input.autocomplete = "off";
      input.spellcheck = false;
      if (part.numeric) input.inputMode = "decimal";
      const put = typed(input, part.id, key);
      return { control: input, put: (value) => put(value) };
    },
    choice(part, key) {
      const select = make("select");
      select.addEventListener("change", () => tell(part.id, select.value, key));
      return {
        control: select,
        put(value, { options = [] }) {
          const wanted = JSON.stringify(options);
          if (select.dataset.options !== wanted) {
            select.dataset.options = wanted;
            select.replaceChildren(
              ...options.map(([text, value]) => {
                const option = make("option", "", text);
                option.value = value;
                return option;
              }),
            );
          }
          select.value = value;
        },
      };
    },
    /* A choice among hundreds: a box above it leaves those that hold every word typed in. */
    search(part, key) {
      const select = make("select");
      const box = make("input");
      box.type = "search";
      box.autocomplete = "off";
      box.spellcheck = false;
      box.placeholder = "search";
      box.setAttribute("aria-label", `Search: ${part.label}`);
      const count = make("output", "hint");
      let [options, value] = [[], ""];
      const fill = () => {
        const wanted = box.value.toLowerCase().split(/\s+/).filter(Boolean);
        const fits = options.filter(([text]) => wanted.every((word) => text.toLowerCase().includes(word)));
        const listed = options.filter((option) => option[1] === value && !fits.includes(option)).concat(fits);
        select.replaceChildren(...listed.map(([text, value]) => Object.assign(make("option", "", text), { value })));
        select.value = value;
        count.textContent = wanted.length ? `${fits.length || "none"} of ${options.length}` : "";
        count.hidden = !wanted.length;
      };
      box.addEventListener("input", fill);
      box.addEventListener("keydown", (event) => event.key === "Enter" && select.focus());
      select.addEventListener("change", () => tell(part.id, select.value, key));
      return {
        control: select,
        above: [box, count],
        put(now, { list }) {
          const known = model.get("lists")[list] ?? [];
          if (known === options && now === value) return;
          [options, value] = [known, now];
          fill();
        },
      };
    },
    truth(part, key) {
      const input = make("input");
      input.type = "checkbox";
      input.addEventListener("change", () => tell(part.id, input.checked ? "yes" : "no", key));
      return { control: input, put: (value) => (input.checked = value === "yes") };
    },
    range(part, key) {
      const input = make("input");
      input.type = "range";
      Object.assign(input, { min: part.min, max: part.max, step: part.step });
      const output = make("output");
      const paint = () => (output.textContent = `${input.value} ${part.unit}`);
      let rest, halt;
      let steps = true; // keys move it step by step and are given a rest; a pointer lets go once
      input.addEventListener("pointerdown", () => (steps = false));
      input.addEventListener("keydown", () => (steps = true));
      input.addEventListener("input", () => {
        paint();
        clearTimeout(halt); // where it halts it is likely to be let go: the answer is worked out ahead
        halt = setTimeout(() => tell(part.id, input.value, "ahead"), HALT);
      });
      input.addEventListener("change", () => {
        if (!steps) clearTimeout(halt);
        clearTimeout(rest);
        rest = setTimeout(() => tell(part.id, input.value, key), steps ? 300 : 0);
      });
      return {
        control: input,
        beside: output,
        put(value) {
          input.value = value;
          paint();
        },
      };
    },
  };
};
