// What a person has opened stays open, and the keyboard stays where it was, when the view comes anew.
(() => {
  if (window.compatBuild) return;
  window.compatBuild = true;
  let opened = null, shut = null, at = "";
  const ids = (rule) => [...document.querySelectorAll(rule)].map((one) => one.id);
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target.id !== "view") return;
    const form = document.querySelector("#view .build");
    opened = form ? ids("#view details[open][id]") : null;
    shut = form ? ids("#view details:not([open])[id]") : null;
    const focus = document.activeElement;
    at = focus?.name && focus.form ? `form[action="${focus.form.getAttribute("action")}"] [name="${focus.name}"]` : "";
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    const view = document.querySelector("#view");
    if (!view?.querySelector(".build") || opened === null) return;
    for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
    for (const id of shut) document.getElementById(id)?.removeAttribute("open");
    opened = shut = null;
    const wrong = document.getElementById("wrong");
    if (wrong) { wrong.setAttribute("tabindex", "-1"); wrong.focus(); }
    else if (at) document.querySelector(at)?.focus();
  });
})();
