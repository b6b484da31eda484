// What is typed at the bench stays in this browser until the server has it: through a lost connection, a closed
// page, a flat battery. Every value has an id of its own, so that one that is sent twice is kept once.
(() => {
  "use strict";
  if (window.compatBench) { window.compatBench(); return; }

  const HEAD = "compat bench|";
  const STATES = {
    typing: "typed here, not given yet: leave the field or press Keep",
    waiting: "kept here, not yet on the server",
    kept: "kept by the server",
  };
  const AGAIN = [2000, 4000, 8000, 15000, 30000];
  const pages = new Map();
  const fetched = new Set();
  let root = null, token = "", busy = false, failed = 0, timer = 0, trouble = "", signIn = false;

  // what this browser keeps

  const beside = new Map();  // where the browser refuses to keep anything, at least this page does
  const shelf = {
    get(key) { try { return localStorage.getItem(key) ?? beside.get(key) ?? null; } catch { return beside.get(key) ?? null; } },
    set(key, text) { try { localStorage.setItem(key, text); beside.delete(key); } catch { beside.set(key, text); } },
    drop(key) { beside.delete(key); try { localStorage.removeItem(key); } catch { /* nothing is kept */ } },
    keys() {
      const found = new Set(beside.keys());
      try { for (let at = 0; at < localStorage.length; at++) found.add(localStorage.key(at)); } catch { /* nothing is kept */ }
      return [...found].filter((key) => key.startsWith(HEAD));
    },
  };
  const address = (build, name) => `${HEAD}${root.dataset.shop}|${build}|${name}`;
  const known = (name, build = root.dataset.bench) => {
    try { return JSON.parse(shelf.get(address(build, name))); } catch { return null; }
  };
  const put = (name, entry, build = root.dataset.bench) => shelf.set(address(build, name), JSON.stringify(entry));
  function* all() {
    const head = `${HEAD}${root.dataset.shop}|`;
    for (const key of shelf.keys()) {
      if (!key.startsWith(head)) continue;
      const [build, ...rest] = key.slice(head.length).split("|");
      const name = rest.join("|"), entry = known(name, build);
      if (entry) yield { build, name, entry };
    }
  }
  const freshId = () => [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, "0")).join("");

  // fields

  const fields = () => root.querySelectorAll("[data-value]");
  const fieldOf = (name) => [...fields()].find((field) => nameOf(field) === name);
  const nameOf = (field) => (field.name === "remark" ? `remark/${root.dataset.key}/0/` : field.name);
  const shownName = (name) => (name.startsWith("remark/") ? "remark" : name);
  const near = (attribute, name) => root.querySelector(`[${attribute}="${CSS.escape(name)}"]`);
  const by = () => root.querySelector("#by")?.value.trim() || shelf.get(`${HEAD}by`) || "";

  function note(name, value, state, seen) {
    const before = known(name);
    const same = before && before.value === value && before.state !== "kept" && before.state !== "refused";
    const [kind, what, piece, ...place] = name.split("/");
    const over = new Set(`${seen || ""} ${before ? before.over : ""} ${before && before.tried ? before.id : ""}`.split(" ").filter(Boolean));
    put(name, {
      state: same && before.state === "waiting" ? "waiting" : state,
      id: same ? before.id : freshId(), tried: same ? before.tried : false,
      kind, what, piece: Number(piece), place: place.join("/"), value, over: [...over].slice(-8).join(" "), by: by(),
      off: root.querySelector(`[name="${CSS.escape(`off/${kind}/${what}`)}"]`)?.value.trim() || "",
      gauge: root.querySelector(`[name="${CSS.escape(`gauge/${kind}/${what}`)}"]`)?.value.trim() || "",
      step: Number(root.dataset.step),
    });
  }

  function noteField(field, state) {
    if (field.readOnly) return;
    const name = nameOf(field), value = field.value.trim(), entry = known(name);
    const settled = !entry || entry.state === "kept" || entry.state === "refused" || (entry.state === "typing" && !entry.tried);
    if (value === field.dataset.value && settled) {
      if (entry && entry.state !== "kept") shelf.drop(address(root.dataset.bench, name));
      say(field);
      return;
    }
    if (entry && entry.state === "refused" && entry.value === value) return;
    note(name, value, state, field.dataset.saw);
    say(field);
  }

  function say(field) {
    const name = nameOf(field), entry = known(name);
    const line = near("data-says", shownName(name));
    const refused = entry && entry.state === "refused";
    field.toggleAttribute("aria-invalid", Boolean(refused));
    if (refused) field.setAttribute("aria-invalid", "true");
    if (!line) return;
    line.replaceChildren();
    if (!entry) { if (field.dataset.value) line.textContent = STATES.kept + (field.dataset.by ? `, ${field.dataset.by}` : ""); return; }
    const word = document.createElement("span");
    word.className = refused ? "wrong" : entry.state === "kept" ? "" : "here";
    word.textContent = refused ? entry.told : STATES[entry.state];
    line.append(word);
  }

  function lay() {
    for (const field of fields()) {
      const name = nameOf(field), entry = known(name);
      if (!entry) continue;
      if (entry.state === "kept" && entry.made <= Number(root.dataset.made)) { shelf.drop(address(root.dataset.bench, name)); continue; }
      field.value = entry.value;
      // a page of before: what the server said since is known here
      if (entry.state === "kept") { field.dataset.value = entry.value; field.dataset.saw = entry.saw || entry.id; field.dataset.by = entry.by; }
      say(field);
    }
    for (const line of root.querySelectorAll("li[data-step-key]")) {
      const told = known(`done/${line.dataset.stepKey}/0/`);
      if (!told || (told.state === "kept" && told.made <= Number(root.dataset.made))) continue;
      line.classList.toggle("done", Boolean(told.value));
      line.querySelector("[data-done-mark]").hidden = !told.value;
    }
    const marked = known(`done/${root.dataset.key}/0/`);
    if (marked && !(marked.state === "kept" && marked.made <= Number(root.dataset.made))) mark(marked.value);
    else if (marked) shelf.drop(address(root.dataset.bench, `done/${root.dataset.key}/0/`));
    const who = root.querySelector("#by");
    if (who && !who.value) who.value = shelf.get(`${HEAD}by`) || "";
  }

  function mark(value) {
    const head = root.querySelector("h1");
    root.querySelector("[data-done]")?.remove();
    if (!value || !head || !root.dataset.key) return;
    const word = document.createElement("span");
    word.className = "decision in"; word.dataset.done = ""; word.textContent = "done";
    head.append(word);
  }

  function tell() {
    const line = root.querySelector("[data-pending]");
    if (!line) return;
    let count = 0;
    for (const { entry } of all()) count += entry.state === "waiting";
    line.hidden = !count && !trouble;
    if (signIn) {
      const link = document.createElement("a");
      link.href = "/sign-in"; link.target = "_blank"; link.textContent = "Sign in again";
      line.replaceChildren(link, ": the server does not know this tablet any more. What was typed stays here until then.");
      return;
    }
    const what = count === 1 ? "1 entry is" : `${count} entries are`;
    const text = [count ? `${what} kept here, not yet on the server; sent as soon as it answers.` : "", trouble].filter(Boolean).join(" ");
    if (line.textContent !== text) line.textContent = text;
  }

  // sending

  async function ask(path, body) {
    const options = { credentials: "same-origin", signal: AbortSignal.timeout(20000), cache: "no-store" };
    if (body) Object.assign(options, { method: "POST", body });
    return fetch(path, options);
  }

  async function renew() {
    const answer = await ask(`/bench/${encodeURIComponent(root.dataset.bench)}/stands?step=${root.dataset.step}`);
    if (answer.redirected) return 401;  // to where one signs in
    if (!answer.ok) return answer.status;
    token = (await answer.json()).token;
    return 200;
  }

  async function withToken(path, fill) {
    for (let time = 0; ; time++) {
      const body = fill();
      body.set("token", token);
      const answer = await ask(path, body);
      if (![401, 403].includes(answer.status) || time) return answer;
      const status = await renew();  // the server began anew, and with it the sitting
      if (status !== 200) return { ok: false, status };
    }
  }

  async function flush() {
    if (busy || !root) return;
    busy = true;
    clearTimeout(timer);
    let again = false;
    try {
      const builds = new Map();
      for (const one of all()) if (one.entry.state === "waiting") builds.set(one.build, [...(builds.get(one.build) || []), one]);
      for (const [build, every] of builds) {
        const some = every.slice(0, 100);
        for (const { name, entry } of some) put(name, { ...entry, tried: true }, build);
        const entries = JSON.stringify(some.map(({ entry }) => entry));
        const here = build === root.dataset.bench;
        const answer = await withToken(`/bench/${encodeURIComponent(build)}/keep`, () =>
          new URLSearchParams({ entries, step: here ? root.dataset.step : "0" }));
        if (!answer.ok) { refuse(answer.status); again = true; continue; }
        trouble = ""; failed = 0; signIn = false;
        const told = await answer.json();
        token = told.token;
        settle(build, some, told);
        if (here) shows(told);
        again = again || every.length > some.length;
      }
    } catch {
      trouble = "There is no connection to the server.";
      again = true; failed += 1;
    } finally {
      busy = false;
      tell();
      let left = false;
      for (const { entry } of all()) left = left || entry.state === "waiting";
      if (again || left) timer = setTimeout(flush, failed || trouble ? AGAIN[Math.min(failed, AGAIN.length - 1)] : 50);
    }
  }

  function refuse(status) {
    failed += 1;
    signIn = status === 401 || status === 403;
    trouble = signIn ? "Sign in again." : status === 404 || status === 400 ? "The server cannot keep them for this build now; they stay here."
      : "The server has trouble; it is asked again.";
  }

  function settle(build, sent, told) {
    const kept = new Set(told.kept);
    for (const { name, entry } of sent) {
      const now = known(name, build);
      if (!now || now.id !== entry.id) {  // typed again meanwhile: that one had seen this one
        continue;
      }
      if (kept.has(entry.id)) put(name, { ...now, state: "kept", made: told.made }, build);
      else if (entry.id in told.refused) put(name, { ...now, state: "refused", told: told.refused[entry.id] }, build);
    }
    trouble = told.faults.length ? `${told.faults.join("; ")}: what is typed is kept, and goes into that file when it is mended.` : "";
  }

  function shows(told) {
    for (const field of fields()) {
      const name = nameOf(field), state = told.fields[name], entry = known(name);
      if (state) {
        const open = entry && entry.state !== "kept";
        field.dataset.saw = state.saw; field.dataset.value = state.value; field.dataset.by = state.by;
        if (!open && document.activeElement !== field) field.value = state.value;
        // it stays here until a page of later than that is shown: one without a connection may be of before
        if (entry && entry.state === "kept") put(name, { ...entry, value: state.value, saw: state.saw, by: state.by, made: told.made });
        others(near("data-beside", name), state.beside);
      } else if (name.startsWith("remark/") && entry && entry.state === "kept") {
        field.dataset.value = entry.value; field.dataset.saw = entry.id;
      }
      say(field);
    }
    for (const [name, piece] of Object.entries(told.pieces)) {
      const line = near("data-piece", name);
      if (!line) continue;
      const parts = [];
      if (piece.word) { const word = document.createElement("span"); word.className = `decision ${piece.decision}`; word.textContent = piece.word; parts.push(word, " "); }
      for (const text of piece.says) { const one = document.createElement("span"); one.className = "line"; one.textContent = text; parts.push(one); }
      line.replaceChildren(...parts);
    }
    for (const [what, text] of Object.entries(told.now)) { const line = near("data-now", what); if (line) line.textContent = text; }
  }

  function others(place, list) {
    if (!place) return;
    place.replaceChildren(...list.map((one) => {
      const line = document.createElement("p"), value = document.createElement("strong");
      line.className = "caution"; value.textContent = one.value;
      line.append("Also told: ", value, one.by ? ` by ${one.by}` : "", " ", one.at.slice(11, 16), ". Both count until one is typed again.");
      return line;
    }));
  }

  // steps that are at hand without a connection

  const worker = () => navigator.serviceWorker && navigator.serviceWorker.controller;

  async function load(url) {
    const answer = await fetch(url, { credentials: "same-origin", signal: AbortSignal.timeout(6000) });
    if (!answer.ok || answer.redirected) throw new Error(String(answer.status));
    const text = await answer.text();
    pages.set(url, text);
    return text;
  }

  async function visit(url, push = true) {
    let text = null;
    try { text = await load(url); } catch { text = pages.get(url); }
    if (!text) { trouble = "That step is not on this tablet yet, and there is no connection."; tell(); return; }
    const made = new DOMParser().parseFromString(text, "text/html"), view = made.querySelector("#view");
    if (!view) { location.assign(url); return; }
    for (const script of view.querySelectorAll("script")) script.remove();
    document.querySelector("#view").replaceWith(view);
    document.title = made.title;
    if (push) history.pushState({ bench: true }, "", url);
    window.scrollTo(0, 0);
    view.focus({ preventScroll: true });
    begin();
  }

  const go = (url) => (worker() ? location.assign(url) : visit(url));

  async function ahead() {
    const step = Number(root.dataset.step), last = Number(root.dataset.steps || 0), base = `/bench/${encodeURIComponent(root.dataset.bench)}`;
    const wanted = [location.pathname, base];
    for (let next = step + 1; next <= Math.min(last || 8, step + 8); next++) wanted.push(`${base}/${next}`);
    if (step > 1) wanted.push(`${base}/${step - 1}`);
    for (const url of wanted) {
      if (fetched.has(url)) continue;
      try {
        const text = await load(url);
        fetched.add(url);
        const drawn = new DOMParser().parseFromString(text, "text/html").querySelector("img.pattern");
        if (drawn) await fetch(drawn.getAttribute("src"));
      } catch { return; }
    }
  }

  // what is done on the page

  document.addEventListener("input", (event) => {
    if (root && event.target.matches?.("[data-value]") && root.contains(event.target)) noteField(event.target, "typing");
  });
  document.addEventListener("change", (event) => {
    const field = event.target;
    if (!root || !root.contains(field)) return;
    if (field.id === "by") { shelf.set(`${HEAD}by`, field.value.trim()); return; }
    if (field.matches("[data-value]")) noteField(field, "waiting");
    else if (/^(off|gauge)\//.test(field.name || "")) {
      // with another gauge each value is another statement
      for (const one of field.closest("fieldset").querySelectorAll("[data-value]")) if (one.value.trim()) note(nameOf(one), one.value.trim(), "waiting", one.dataset.saw), say(one);
    } else return;
    tell();
    flush();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches?.(".with-unit input")) return;
    event.preventDefault();
    const every = [...root.querySelectorAll(".with-unit input:not([readonly])")], next = every[every.indexOf(event.target) + 1];
    if (next) next.focus(); else event.target.blur();
  });
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!root || !form.matches("[data-keep]")) return;
    event.preventDefault();
    const pressed = event.submitter;
    for (const field of fields()) if (field.value.trim() !== field.dataset.value || known(nameOf(field))) noteField(field, "waiting");
    for (const { build, name, entry } of all()) if (build === root.dataset.bench && entry.state === "typing" && fieldOf(name)) put(name, { ...entry, state: "waiting" });
    const isUndo = pressed?.name === "undo", on = ["next", "on"].includes(pressed?.value);
    if (isUndo || ["next", "done"].includes(pressed?.value)) {
      note(`done/${root.dataset.key}/0/`, isUndo ? "" : "done", "waiting", "");
      mark(isUndo ? "" : "done");
    }
    while (busy) await new Promise((done) => setTimeout(done, 20));
    await flush();
    if (!(await sendPhoto(form))) return;
    const wrong = root.querySelector("[aria-invalid=true]");
    if (wrong) { wrong.focus(); return; }
    const next = root.querySelector("a[rel=next]");
    if (on && next) go(next.getAttribute("href"));
    else if (isUndo || pressed?.value === "done") { if (!trouble) go(location.pathname); }
  });

  async function sendPhoto(form) {
    const chosen = form.querySelector("#photo");
    if (!chosen?.files.length) return true;
    try {
      const answer = await withToken(`${location.pathname}/photo`, () => {
        const body = new FormData();
        body.set("photo", chosen.files[0]); body.set("by", by());
        return body;
      });
      if (answer.ok) { chosen.value = ""; go(location.pathname); return false; }
      trouble = answer.status === 400 ? "The photo is not kept: a JPEG or PNG of 15 MB at most is wanted." : "The photo is not kept; it stays chosen here.";
    } catch { trouble = "The photo is not sent; it stays chosen here. Press Keep again when the server answers."; }
    tell();
    return false;
  }

  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[data-step-link]");
    if (!link || worker() || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    event.preventDefault();
    visit(link.getAttribute("href"));
  });
  window.addEventListener("popstate", () => { if (root && location.pathname.startsWith("/bench/") && !worker()) visit(location.pathname, false); });
  window.addEventListener("online", () => { failed = 0; flush(); });
  window.addEventListener("pageshow", () => { if (root) flush(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden && root) { failed = 0; flush(); } });

  function begin() {
    root = document.querySelector("[data-bench]");
    if (!root) return;
    token = root.dataset.token;
    const hint = root.querySelector("[data-offline]");
    if (hint) hint.textContent = "What is typed is kept on this tablet at once, and by the server as soon as it answers.";
    lay();
    tell();
    flush();
    setTimeout(ahead, 800);
  }
  window.compatBench = begin;
  if (navigator.serviceWorker && window.isSecureContext) navigator.serviceWorker.register("/bench-worker.js", { scope: "/bench/" }).catch(() => {});
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", begin); else begin();
})();
