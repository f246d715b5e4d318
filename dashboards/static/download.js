/* A button: asks the Python side for the file's bytes and hands them to the browser as a Blob. */
function save(name, mime, parts) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob(parts, { type: mime }));
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

export default {
  render({ model, el }) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "jupyter-button download";
    const problem = document.createElement("p");
    problem.className = "problem";
    problem.setAttribute("role", "alert");
    problem.hidden = true;
    el.append(button, problem);

    let busy = false;
    const paint = () => {
      button.textContent = busy ? "Preparing…" : model.get("label");
      button.disabled = busy || model.get("disabled");
    };
    const answered = (message, buffers) => {
      busy = false;
      problem.hidden = message.kind !== "problem";
      problem.textContent = message.text ?? "";
      if (message.kind === "file") save(message.name, message.mime, buffers);
      paint();
    };
    button.addEventListener("click", () => {
      busy = true;
      paint();
      model.send("wanted");
    });
    model.on("change:label change:disabled", paint);
    model.on("msg:custom", answered);
    paint();
    return () => {
      model.off("change:label change:disabled", paint);
      model.off("msg:custom", answered);
    };
  },
};
