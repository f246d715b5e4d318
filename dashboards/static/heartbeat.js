/* Asks the Python side for an answer every few seconds; shows a banner when three in a row stay unanswered.
   Counting answers, not time: a hidden page's timers sleep, and waking up is no loss. */
const EVERY = 3000;
const PATIENCE = 3;

function banner() {
  const bar = document.createElement("div");
  bar.className = "lost";
  bar.setAttribute("role", "alert");
  bar.append("The session behind this page does not answer. What you see is the last state. ");
  const reload = document.createElement("button");
  reload.type = "button";
  reload.textContent = "Start again";
  reload.addEventListener("click", () => location.reload());
  bar.append(reload);
  document.body.append(bar);
  return bar;
}

export default {
  render({ model }) {
    let unanswered = 0;
    let bar = null;
    const answered = (message) => {
      if (message !== "pong") return;
      unanswered = 0;
      bar?.remove();
      bar = null;
    };
    const ask = () => {
      if (unanswered >= PATIENCE) bar ??= banner();
      unanswered += 1;
      try {
        model.send("ping");
      } catch {
        /* the connection is closed: counted as unanswered */
      }
    };
    model.on("msg:custom", answered);
    ask(); // tells the Python side that somebody looks
    const timer = setInterval(ask, EVERY);
    return () => {
      clearInterval(timer);
      model.off("msg:custom", answered);
      bar?.remove();
    };
  },
};
