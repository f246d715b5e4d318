/* Rows and columns of numbers; form.py lays this before form.js. Enter goes down; what is pasted from a sheet fills the cells from there
   on. */
function typedTable(part, tell) {
  const node = make("div", "typed-table");
  const grid = make("table");
  const head = make("tr");
  head.append(make("td"));
  const columns = part.columns.map((text) => Object.assign(make("th", "", text), { scope: "col" }));
  head.append(...columns);
  const wrong = make("div");
  wrong.setAttribute("role", "alert");
  grid.createTHead().append(head);
  const body = grid.createTBody();
  const cells = part.heads.flatMap((text, row) => {
    const line = body.insertRow();
    line.append(Object.assign(make("th", "", text), { scope: "row" }));
    return part.columns.map((_, column) => {
      const input = make("input");
      Object.assign(input, { type: "text", autocomplete: "off", spellcheck: false, inputMode: "decimal" });
      const cell = { id: part.parts[row * part.columns.length + column].id, input };
      let sent = "";
      const commit = () => {
        if (input.value === sent) return;
        sent = input.value;
        tell(cell.id, sent);
      };
      input.addEventListener("change", commit);
      input.addEventListener("keydown", (event) => {
        if (event.key !== "Enter") return;
        commit();
        cells[(row + 1) * part.columns.length + column]?.input.focus();
      });
      input.addEventListener("focus", () => input.select());
      input.addEventListener("paste", (event) => {
        const text = event.clipboardData.getData("text").replace(/\s+$/, "");
        if (!/[\t\n]/.test(text)) return;
        event.preventDefault();
        const given = text.split(/\r?\n/).map((line) => line.split("\t"));
        tell(part.id, JSON.stringify({ row, column, cells: given }), "paste");
      });
      cell.put = (value) => {
        if (document.activeElement !== input || input.value === sent) input.value = value;
        sent = value;
      };
      line.insertCell().append(input);
      return cell;
    });
  });
  node.append(grid, wrong);
  return {
    node,
    first: cells[0].input,
    update(part) {
      grid.setAttribute("aria-label", part.label);
      columns.forEach((column, i) => (column.textContent = part.columns[i]));
      part.parts.forEach(({ id, label, value, left, problem }, i) => {
        const cell = cells[i];
        cell.id = id;
        cell.put(value);
        cell.input.setAttribute("aria-label", label);
        cell.input.setAttribute("aria-invalid", String(Boolean(problem)));
        cell.input.classList.toggle("left-out", Boolean(left));
      });
      const told = JSON.stringify(part.problems);
      if (wrong.dataset.told !== told) wrong.replaceChildren(...part.problems.map((text) => make("p", "problem", text)));
      wrong.dataset.told = told;
    },
  };
}
