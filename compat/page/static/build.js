// What a person has opened stays open, and the keyboard stays where it was, when the view comes anew.
(() => {
  if (window.compatBuild) return;
  window.compatBuild = true;
  const view = () => document.getElementById("view");
  const ids = (rule) => [...view().querySelectorAll(rule)].map((one) => one.id);
  let opened = null, shut = null, focused = null;

  // a finding that is opened asks at once what helps
  document.addEventListener("toggle", (event) => {
    const one = event.target;
    if (one.open && one.closest(".findings")) one.querySelector(':scope > div > a[href*="/remedies/"]')?.click();
  }, true);

  // where the keyboard is: a field by its form, else the part of the view that it stands in
  const place = (one) => {
    const form = one.closest("form[action]");
    if (one.name && form) return `form[action="${form.getAttribute("action")}"] [name="${CSS.escape(one.name)}"]`;
    const inside = one.closest("details[id], tr[id]");
    return inside ? `#${CSS.escape(inside.id)} > summary, #${CSS.escape(inside.id)} a` : "";
  };
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target !== view()) return;
    const there = view().querySelector(".build");
    opened = there ? ids("details[open][id]") : null;
    shut = there ? ids("details:not([open])[id]") : null;
    const at = document.activeElement;
    focused = there && view().contains(at) && at !== view() ? place(at) : null;
  });
  document.addEventListener("htmx:afterSettle", () => {
    if (opened === null || !view().querySelector(".build")) return;
    for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
    for (const id of shut) {
      const one = document.getElementById(id);
      if (one && !("moved" in one.dataset)) one.removeAttribute("open");
    }
    opened = shut = null;
    const wrong = document.getElementById("the-faults");
    const next = wrong ?? (focused ? view().querySelector(focused) : null) ?? document.getElementById("the-step");
    if (wrong || focused !== null) {
      if (next && !next.matches("a, button, input, select, summary")) next.tabIndex = -1;
      next?.focus({ preventScroll: !wrong });
    }
    focused = null;
  });
})();
