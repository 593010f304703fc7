/**
 * The page's own script, as text: it runs in the browser, from the page alone. Ticks and spoiled pieces are kept by the browser
 * under the job's name, where it lets the page keep anything; a page without a memory of its own still works.
 */
export const SCRIPT = `
(() => {
  "use strict";
  const job = JSON.parse(document.getElementById("job").textContent);
  const search = document.getElementById("search");
  const answer = document.getElementById("answer");
  const list = document.getElementById("list");
  const places = new Map([...document.querySelectorAll(".place")].map((g) => [g.dataset.at, g]));
  const rows = new Map(job.places.map((p) => [p.at, p]));
  const plain = (text) => text.normalize("NFKD").replace(/\\p{M}/gu, "").toLowerCase();
  for (const p of job.places)
    p.words = plain([p.at, p.kit, p.title, p.piece, ...p.texts.map((t) => t[1]), ...p.orders.map((o) => o[0])].join("\\n"));
  const key = "kitforme " + job.job;
  const kept = { ticked: {}, spoiled: {} };
  try { Object.assign(kept, JSON.parse(localStorage.getItem(key) || "{}")); } catch {}
  const keep = () => { try { localStorage.setItem(key, JSON.stringify(kept)); } catch {} };
  const numbers = (first, last) => (first === last ? "no. " + first : "no. " + first + "–" + last);
  const by = (q) => {
    const sheet = job.sheets.find((s) => plain(s.code) === q);
    if (sheet) return { places: job.places.filter((p) => p.at.startsWith(sheet.sheet + ":")), what: "sheet " + sheet.sheet };
    if (rows.has(q)) return { places: [rows.get(q)], what: "place " + q };
    const order = job.orders.find((o) => plain(o.order) === q);
    if (order) return { places: job.places.filter((p) => p.orders.some((o) => o[0] === order.order)), what: "order " + order.order + (order.due ? ", due " + order.due : ""), order: order.order };
    return { places: job.places.filter((p) => p.words.includes(q)), what: search.value.trim() };
  };
  const element = (name, text, more = {}) => Object.assign(document.createElement(name), text === undefined ? {} : { textContent: text }, more);
  const command = () => {
    const spoiled = [...rows.keys()].flatMap((at) => Array.from({ length: kept.spoiled[at] || 0 }, () => at));
    document.getElementById("spoiled").hidden = spoiled.length === 0;
    document.getElementById("command").textContent = "kitforme remake --job . --spoiled " + spoiled.join(",") + " --out remake";
    for (const [at, g] of places) g.classList.toggle("spoiled", Boolean(kept.spoiled[at]));
  };
  const row = (p, order) => {
    const li = element("li");
    const box = element("input", undefined, { type: "checkbox", checked: Boolean(kept.ticked[p.at]) });
    const what = element("label", undefined, { className: "what" });
    box.id = "t" + p.at;
    what.htmlFor = box.id;
    what.append(element("span", p.at, { className: "at" }), " " + p.title + ", " + p.piece);
    for (const [slot, text] of p.texts) what.append(element("br"), slot + ": ", element("bdi", text));
    const shown = p.orders.filter((o) => !order || o[0] === order);
    for (const [name, first, last] of shown) what.append(element("br"), element("bdi", name), " " + numbers(first, last));
    const spoil = element("button", kept.spoiled[p.at] ? "Spoiled" : "Mark spoiled", { type: "button" });
    spoil.setAttribute("aria-pressed", String(Boolean(kept.spoiled[p.at])));
    spoil.setAttribute("aria-label", "Spoiled: " + p.at + " " + p.piece);
    spoil.onclick = () => {
      if (kept.spoiled[p.at]) delete kept.spoiled[p.at];
      else kept.spoiled[p.at] = 1;
      keep();
      spoil.textContent = kept.spoiled[p.at] ? "Spoiled" : "Mark spoiled";
      spoil.setAttribute("aria-pressed", String(Boolean(kept.spoiled[p.at])));
      command();
    };
    box.onchange = () => {
      if (box.checked) kept.ticked[p.at] = 1;
      else delete kept.ticked[p.at];
      keep();
      li.classList.toggle("ticked", box.checked);
    };
    li.classList.toggle("ticked", box.checked);
    li.append(box, what, spoil);
    return li;
  };
  const MOST = 500;
  const show = () => {
    const q = plain(search.value.trim());
    document.body.classList.toggle("searching", q !== "");
    for (const g of document.querySelectorAll(".found")) g.classList.remove("found");
    for (const s of document.querySelectorAll(".has")) s.classList.remove("has");
    if (q === "") {
      list.replaceChildren();
      answer.textContent = job.sheets.length + " sheets, " + job.places.length + " places, " + job.orders.length + " orders.";
      return;
    }
    const found = by(q);
    const sheets = new Set();
    for (const p of found.places) {
      const g = places.get(p.at);
      g.classList.add("found");
      g.closest(".sheet").classList.add("has");
      sheets.add(p.at.split(":")[0]);
    }
    answer.textContent = found.places.length === 0
      ? "Nothing found for " + found.what + "."
      : found.places.length + (found.places.length === 1 ? " place" : " places") + " on " + sheets.size + (sheets.size === 1 ? " sheet" : " sheets") + ": " + found.what + ".";
    const ul = element("ul");
    ul.append(...found.places.slice(0, MOST).map((p) => row(p, found.order)));
    list.replaceChildren(ul);
    if (found.places.length > MOST) list.append(element("p", "and " + (found.places.length - MOST) + " more; search more narrowly to see them here."));
  };
  let soon;
  search.addEventListener("input", () => { clearTimeout(soon); soon = setTimeout(show, 60); });
  search.addEventListener("keydown", (e) => {
    // A scanner ends what it types with Enter: the next scan replaces it.
    if (e.key === "Enter") { clearTimeout(soon); show(); search.select(); }
    if (e.key === "Escape") { search.value = ""; show(); }
  });
  const pick = (g) => { search.value = g.dataset.at; show(); search.focus(); search.select(); };
  document.getElementById("sheets").addEventListener("click", (e) => { const g = e.target.closest(".place"); if (g) pick(g); });
  document.getElementById("sheets").addEventListener("keydown", (e) => {
    const g = e.target.closest(".place");
    if (g && (e.key === "Enter" || e.key === " ")) { e.preventDefault(); pick(g); }
  });
  document.getElementById("copy").onclick = async () => {
    const code = document.getElementById("command");
    try { await navigator.clipboard.writeText(code.textContent); answer.textContent = "Copied."; }
    catch { getSelection().selectAllChildren(code); answer.textContent = "Selected: copy it by hand."; }
  };
  show();
  command();
})();
`;
