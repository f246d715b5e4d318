/* Draws a plotly figure with the plotly.js that the page fetches once. What the figure leaves open (font, grid, background,
   outline) is taken from the page's CSS variables, again whenever the page changes between light and dark. */
const PRINT_WIDTH = 640; // px, inside a card on A4 or letter paper
const NARROW = 480; // px: a chart on a phone
const LINE = 18; // characters in a line of a label there
const COLOURWAY = ["blue", "orange", "bluish-green", "vermillion", "sky-blue", "reddish-purple"];

/* Running plotly.js takes as long as all the rest of the page: words and tables come first, charts when the page has
   a moment. The promise is shared by all charts, each of which is a module of its own. */
function plotly() {
  window.plotlyLoaded ??= new Promise((done) => {
    const script = document.createElement("script");
    script.src = document.getElementById("plotly").href;
    script.onload = () => done(window.Plotly);
    script.onerror = () => done(null);
    const later = window.requestIdleCallback ?? ((work) => setTimeout(work, 300));
    later(() => document.head.append(script));
  });
  return window.plotlyLoaded;
}

/* Words in lines, so that the labels of an axis leave room for what they name. */
function inLines(text) {
  const lines = [];
  for (const word of text.split(" ")) {
    const longer = lines.length ? `${lines.at(-1)} ${word}` : word;
    if (lines.length && longer.length <= LINE) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines.join("<br>");
}

function themed(figure, width) {
  const css = getComputedStyle(document.documentElement);
  const colour = (name) => css.getPropertyValue(name).trim();
  const { data = [], layout = {} } = structuredClone(figure);
  const axis = {
    automargin: true,
    fixedrange: true,
    gridcolor: colour("--line"),
    zerolinecolor: colour("--edge"),
    ticks: "outside",
    ticklen: 5,
    tickcolor: "rgba(0,0,0,0)",
  };
  const axes = Object.keys(layout).filter((key) => /^[xy]axis\d*$/.test(key));
  const full = {
    paper_bgcolor: "rgba(0,0,0,0)",
    plot_bgcolor: "rgba(0,0,0,0)",
    colorway: COLOURWAY.map((name) => colour(`--oi-${name}`)),
    hoverlabel: { bgcolor: colour("--card"), bordercolor: colour("--edge"), font: { color: colour("--ink") } },
    legend: { orientation: "h", x: 0, y: 1, yanchor: "bottom", traceorder: "normal" },
    margin: { l: 8, r: 8, t: layout.title ? 40 : 8, b: 8 },
    dragmode: false,
    ...layout,
    font: { color: colour("--ink"), family: css.getPropertyValue("--font"), size: width < NARROW ? 11 : 13, ...layout.font },
  };
  for (const name of ["xaxis", "yaxis", ...axes]) full[name] = { ...axis, ...layout[name] };
  const named = full.yaxis.categoryarray;
  if (named && width < NARROW) {
    full.height += 10 * named.length; // two lines to a label
    full.yaxis = { ...full.yaxis, tickmode: "array", tickvals: named, ticktext: named.map(inLines) };
  }
  for (const trace of data.filter(({ type }) => type === "bar")) {
    trace.marker = { ...trace.marker, line: { color: colour("--ink"), width: 0.75, ...trace.marker?.line } };
  }
  for (const { line } of data) if (line?.color === "#000000") line.color = colour("--ink"); // seen on a dark page too
  return { data, layout: full };
}

export default {
  async render({ model, el }) {
    el.classList.add("plot-view");
    const box = document.createElement("div");
    el.append(box);
    const describe = () => {
      const alt = model.get("alt"); // none before there is a chart
      for (const [name, value] of [["role", alt && "img"], ["aria-label", alt], ["aria-hidden", alt ? "" : "true"]]) {
        if (value) box.setAttribute(name, value);
        else box.removeAttribute(name);
      }
    };
    describe();
    model.on("change:alt", describe);

    const Plotly = await plotly();
    if (!Plotly) {
      box.textContent = `The chart could not be drawn. ${model.get("alt")}`;
      return () => model.off("change:alt", describe);
    }
    // One piece of work on the chart at a time: plotly trips over a resize in the middle of a drawing.
    let last = Promise.resolve();
    const inTurn = (work) => (last = last.then(work, work));
    let drawn = 0;
    const draw = () =>
      inTurn(async () => {
        const { data, layout } = themed(model.get("figure"), el.offsetWidth);
        box.hidden = !data.length; // nothing to show yet
        if (box.hidden) return;
        await Plotly.react(box, data, layout, { responsive: false, displayModeBar: false });
        box.dataset.drawn = String(++drawn);
      });
    // Shrunk for paper, not drawn anew: plotly moves some charts to a new width slowly, and the printer does not wait.
    const narrow = () => (box.style.zoom = Math.min(1, PRINT_WIDTH / el.offsetWidth));
    const widen = () => (box.style.zoom = "");
    await new Promise((done) => setTimeout(done)); // a task of its own: the page can paint between charts
    await draw();
    let width = el.offsetWidth;
    const follow = new ResizeObserver(() => {
      if (!el.offsetWidth || el.offsetWidth === width) return;
      width = el.offsetWidth;
      inTurn(() => el.offsetWidth && !box.hidden && Plotly.Plots.resize(box)); // it may be hidden by now
      draw(); // the legend's rows are laid out for the width of before
    });
    model.on("change:figure", draw);
    follow.observe(el);
    addEventListener("modechange", draw);
    addEventListener("beforeprint", narrow);
    addEventListener("afterprint", widen);
    return () => {
      model.off("change:alt", describe);
      model.off("change:figure", draw);
      follow.disconnect();
      removeEventListener("modechange", draw);
      removeEventListener("beforeprint", narrow);
      removeEventListener("afterprint", widen);
      Plotly.purge(box);
    };
  },
};
