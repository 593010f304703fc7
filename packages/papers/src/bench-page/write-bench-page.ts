import { type Job, LEGEND } from "@kitforme/files";
import { apply, type Contour, toMm } from "@kitforme/geometry";
import { wordsOf } from "@kitforme/kit";
import type { Placed, Sheet } from "@kitforme/sheet";
import { SCRIPT } from "./script.ts";
import { STYLE } from "./style.ts";

/**
 * The job on one page (`job.html`): every sheet as a picture, a search field that takes an order, a text, a kit, a piece or the
 * code of a sheet (a hand scanner types it), places outlined on their sheets, a list to tick off that outlives a reload, and
 * spoiled pieces gathered into the command that makes them anew. One file; it asks no network and no server for anything.
 */
export const writeBenchPage = (job: Job): Uint8Array => {
  const shapes = new Map<string, string>();
  const sheets = job.sheets.map(({ sheet }) => sheetHtml(sheet, shapes));
  const symbols = [...shapes].map(([, symbol]) => symbol);
  const data = JSON.stringify(dataOf(job)).replaceAll("<", "\\u003c");
  const html = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">
<title>Job ${escaped(job.job)}</title>
<link rel="icon" href="data:,">
<style>${STYLE}</style>
</head>
<body>
<header>
<h1>Job ${escaped(job.job)}</h1>
<label for="search">Search: order, text, kit, piece or sheet code</label>
<input id="search" type="search" autocomplete="off" autofocus>
<p id="answer" role="status" aria-live="polite"></p>
</header>
<main>
<section id="list" aria-label="Pieces found"></section>
<section id="spoiled" aria-label="Spoiled pieces" hidden>
<h2>Spoiled pieces</h2>
<p>Run this to make them anew, then fetch the make-up sheets:</p>
<pre><code id="command"></code></pre>
<button id="copy" type="button">Copy the command</button>
</section>
<section id="sheets" aria-label="Sheets">
<svg width="0" height="0" aria-hidden="true"><defs>${symbols.join("")}</defs></svg>
${sheets.join("\n")}
</section>
</main>
<script type="application/json" id="job">${data}</script>
<script>${SCRIPT}</script>
</body>
</html>
`;
  return new TextEncoder().encode(html);
};

const escaped = (text: string): string =>
  text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;");

/** What the page's script searches: one row a place. */
const dataOf = (job: Job) => ({
  job: job.job,
  orders: job.orders.map(({ order, due }) => ({ order, due: due ?? "" })),
  sheets: job.sheets.map(({ sheet }) => ({
    sheet: sheet.sheet,
    code: sheet.code,
    run: sheet.run,
    stock: sheet.stock.title,
  })),
  places: job.sheets.flatMap(({ sheet }) =>
    sheet.placed.map(({ number, prepared: { piece }, wording, serves }) => ({
      at: `${sheet.sheet}:${number}`,
      kit: piece.kit,
      title: job.titles[piece.kit] ?? piece.kit,
      piece: piece.piece,
      texts: Object.entries(wording).map(([slot, said]) => [slot, wordsOf(said)]),
      orders: serves.map(({ order, first, last }) => [order, first, last]),
    })),
  ),
});

/** Decimals of a millimetre: a tenth is finer than the screen shows. */
const mm = (um: number): string => String(Math.round(toMm(um) * 10) / 10);

/** On a screen corners nearer than this cannot be told apart, micrometres. */
const FINEST = 300;

const dataPath = (contour: Contour<"drawing">): string => {
  let last: Contour<"drawing">[number] | undefined;
  const kept = contour.filter((p) => {
    if (last && Math.hypot(p.x - last.x, p.y - last.y) < FINEST) return false;
    last = p;
    return true;
  });
  return `M${(kept.length > 2 ? kept : contour).map(({ x, y }) => `${mm(x)} ${mm(y)}`).join("L")}Z`;
};

/** The shape of a piece, drawn once however often it lies on the sheets. */
const shapeOf = ({ prepared: { piece } }: Placed, shapes: Map<string, string>): string => {
  const key = `${piece.kit}/${piece.piece}`;
  const id = `p${[...shapes.keys()].indexOf(key) + 1 || shapes.size + 1}`;
  if (!shapes.has(key)) {
    const rings = piece.parts.flatMap(({ outer, openings }) => [outer, ...openings]).map(dataPath);
    const lines = piece.lines
      .filter(({ operation }) => operation !== "cutting")
      .map(({ operation, closed, points }) => {
        const { colour, dash } = LEGEND[operation];
        const d = `M${points.map(({ x, y }) => `${mm(x)} ${mm(y)}`).join("L")}${closed ? "Z" : ""}`;
        return `<path d="${d}" fill="none" stroke="${colour}" stroke-width="0.6" stroke-dasharray="${dash.join(" ")}"/>`;
      });
    shapes.set(key, `<g id="${id}"><path class="shape" d="${rings.join("")}"/>${lines.join("")}</g>`);
  }
  return id;
};

const sheetHtml = (sheet: Sheet, shapes: Map<string, string>): string => {
  const [w, h] = [toMm(sheet.width), toMm(sheet.height)];
  const placed = sheet.placed.map((p) => {
    const [a, b, c, d, e, f] = p.matrix;
    // The sheet's y runs up, the screen's down.
    const matrix = [a, -b, c, -d].map((n) => Number(n.toFixed(6)) + 0).join(" ");
    const at = `${sheet.sheet}:${p.number}`;
    const [x, y] = middleOf(p);
    const label = `${at} ${p.prepared.piece.piece}`;
    return `<g class="place" data-at="${at}" tabindex="0" role="button" aria-label="${escaped(label)}"><use href="#${shapeOf(p, shapes)}" transform="matrix(${matrix} ${mm(e)} ${mm(sheet.height - f)})"/><text x="${mm(x)}" y="${mm(sheet.height - y)}">${p.number}</text></g>`;
  });
  const marks = sheet.marks.map(
    ({ at, size }) => `<circle class="mark" cx="${mm(at.x)}" cy="${mm(sheet.height - at.y)}" r="${mm(size / 2)}"/>`,
  );
  return `<figure class="sheet" id="s${sheet.sheet}"><figcaption>Sheet ${sheet.sheet} of ${sheet.of}, ${escaped(sheet.stock.title)}, run ${sheet.run}, code ${escaped(sheet.code)}</figcaption><svg viewBox="0 0 ${w} ${h}" role="group" aria-label="Sheet ${sheet.sheet}"><rect class="paper" width="${w}" height="${h}"/>${placed.join("")}${marks.join("")}</svg></figure>`;
};

/** Where a place's number stands: the middle of its largest part's box. */
const middleOf = ({ prepared: { piece }, matrix }: Placed): [number, number] => {
  let best: [number, number] = [0, 0];
  let most = -1;
  for (const { outer } of piece.parts) {
    const [xs, ys] = [outer.map((p) => p.x), outer.map((p) => p.y)];
    const [x0, x1] = [xs.reduce((m, v) => Math.min(m, v)), xs.reduce((m, v) => Math.max(m, v))];
    const [y0, y1] = [ys.reduce((m, v) => Math.min(m, v)), ys.reduce((m, v) => Math.max(m, v))];
    if ((x1 - x0) * (y1 - y0) <= most) continue;
    most = (x1 - x0) * (y1 - y0);
    const [x, y] = apply(matrix, (x0 + x1) / 2, (y0 + y1) / 2);
    best = [x, y];
  }
  return best;
};
