/* A button that takes one file from the visitor: its name and bytes go to the Python side, which says what is wrong with it.
   What is too large is not sent: a message above the server's limit would close the connection. */
export default {
  render({ model, el }) {
    const input = document.createElement("input");
    input.type = "file";
    input.hidden = true;
    input.accept = model.get("accept");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "jupyter-button upload";
    const problem = document.createElement("p");
    problem.className = "problem";
    problem.setAttribute("role", "alert");
    el.append(button, input, problem);

    const tell = (text) => {
      problem.hidden = !text;
      problem.textContent = text;
    };
    const paint = () => {
      button.textContent = model.get("label");
      tell(model.get("problem"));
    };
    button.addEventListener("click", () => input.click());
    input.addEventListener("change", async () => {
      const [file] = input.files;
      input.value = ""; // the same file can be chosen again
      if (!file) return;
      if (file.size > model.get("limit")) {
        tell(`${file.name} has ${(file.size / 1e6).toFixed(1)} MB; at most ${model.get("limit") / 1e6} MB are taken.`);
        return;
      }
      try {
        model.send({ name: file.name }, undefined, [await file.arrayBuffer()]);
        tell("");
      } catch {
        tell(`${file.name} cannot be read.`);
      }
    });
    model.on("change:label change:problem", paint);
    paint();
    return () => model.off("change:label change:problem", paint);
  },
};
