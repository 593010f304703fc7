import { mm, toMm, toPlotterUnits } from "@kitforme/geometry";
import { type ShopForm, shopForm } from "./forms/shop-form.ts";
import { badName, badTitle } from "./guard.ts";
import { judgedFonts } from "./judge-fonts.ts";
import { OPERATIONS } from "./kit.ts";
import { quoted } from "./numbers.ts";
import { type Answer, type Finding, hasErrors, type Place } from "./problem.ts";
import { isBundled, judgedProfile, type Profiles } from "./judge-profile.ts";
import { readForm } from "./read-form.ts";
import { say } from "./say.ts";
import {
  type Cutter,
  type KnifePath,
  type Margins,
  type Press,
  type Prices,
  type Shop,
  type Speed,
  type Stock,
} from "./shop.ts";

const FILE = "shop.json";

/** HP-GL's own integers are of 16 bits (its later form has 24; which of them a machine reads, only its manual tells). */
const MOST_PLOTTER_UNITS = 32_767;

const marginsOf = (m: Margins): Margins => ({
  top: mm(m.top),
  right: mm(m.right),
  bottom: mm(m.bottom),
  left: mm(m.left),
});

const pressOf = (name: string, form: ShopForm["presses"][string], profiles: Profiles): Press => ({
  name,
  ...(form.intent === undefined ? {} : { intent: form.intent }),
  ...(form.inkLimit === undefined ? {} : { inkLimit: form.inkLimit }),
  ...(isBundled(form.profile) ? { bundled: form.profile } : {}),
  ...(form.profile !== undefined && !isBundled(form.profile) && profiles[form.profile]
    ? { profile: { file: form.profile, bytes: profiles[form.profile] as Uint8Array } }
    : {}),
  margins: marginsOf(form.margins),
  resolution: form.resolution,
  bleed: mm(form.bleed),
  colour: form.colour,
  register: mm(form.register),
  ...(form.sides === undefined ? {} : { sides: form.sides }),
  ...(form.files === undefined ? {} : { files: form.files }),
  ...(form.turn === undefined ? {} : { turn: form.turn }),
  ...(form.spots === undefined ? {} : { spots: form.spots }),
  ...(form.feed === undefined ? {} : { feed: form.feed }),
  ...(form.colourBar ? { colourBar: true } : {}),
  ...(form.registerTarget ? { registerTarget: true } : {}),
  ...(form.scaleBar ? { scaleBar: true } : {}),
});

const knifePathOf = (form: ShopForm["cutters"][string]["path"]): KnifePath => ({
  overcut: mm(form?.overcut ?? 0),
  bladeOffset: mm(form?.bladeOffset ?? 0),
  tabs: form?.tabs ? { count: form.tabs.count, length: mm(form.tabs.length) } : null,
  dash: Object.fromEntries(
    (["creasing", "perforating", "partialCutting"] as const).flatMap((o) => {
      const lengths = form?.dash[o];
      return lengths ? [[o, [mm(lengths[0]), mm(lengths[1])]]] : [];
    }),
  ),
});

/** An operation without a speed of its own is worked at the speed of cuts, and without that at the travel's. */
const speedOf = (form: NonNullable<ShopForm["cutters"][string]["speed"]>): Speed => ({
  operations: Object.fromEntries(OPERATIONS.map((o) => [o, form[o] ?? form.cutting ?? form.travel])),
  travel: form.travel,
  lift: form.lift,
});

const cutterOf = (name: string, form: ShopForm["cutters"][string]): Cutter => ({
  name,
  formats: [...new Set(form.formats)],
  tolerance: mm(form.tolerance),
  clearance: mm(form.clearance),
  bareClearance: mm(form.bareClearance ?? form.clearance),
  margins: marginsOf(form.margins),
  marks: { shape: form.marks.shape, size: mm(form.marks.size), clear: mm(form.marks.clear), along: form.marks.along },
  least: { bridge: mm(form.least.bridge), opening: mm(form.least.opening), corner: mm(form.least.corner) },
  tools: Object.fromEntries(
    OPERATIONS.flatMap((o) => {
      const tool = form.tools[o];
      return tool ? [[o, { pen: tool.pen }]] : [];
    }),
  ),
  ...(form.table ? { table: { width: mm(form.table[0]), height: mm(form.table[1]) } } : {}),
  axes: {
    origin: form.axes?.origin ?? "lowerLeft",
    swap: form.axes?.swap ?? false,
    offset: [mm(form.axes?.offset[0] ?? 0), mm(form.axes?.offset[1] ?? 0)],
  },
  path: knifePathOf(form.path),
  ...(form.speed ? { speed: speedOf(form.speed) } : {}),
});

const pricesOf = ({ currency, sheet, ...rest }: NonNullable<ShopForm["prices"]>): Prices => ({
  currency,
  sheet,
  ...Object.fromEntries(
    (["side", "minute", "layout", "order"] as const).flatMap((of) => (rest[of] === undefined ? [] : [[of, rest[of]]])),
  ),
});

/** The names of one noun, judged as parts of file names. */
const judgedNames = (noun: string, names: readonly string[]): Finding[] =>
  names.flatMap((name) => {
    const why = badName(name);
    return why ? [say("name-bad", { file: FILE, field: `${noun}s` }, { noun, name, why })] : [];
  });

const judgedTools = (name: string, form: ShopForm["cutters"][string]): Finding[] => {
  const where: Place = { file: FILE, field: `cutters.${name}.tools` };
  const pens = new Map<number, string[]>();
  for (const o of OPERATIONS) {
    const tool = form.tools[o];
    if (tool) pens.set(tool.pen, [...(pens.get(tool.pen) ?? []), o]);
  }
  return [
    ...Object.keys(form.tools)
      .filter((t) => !(OPERATIONS as readonly string[]).includes(t))
      .map((tool) => say("tool-unknown", where, { cutter: name, tool })),
    ...[...pens]
      .filter(([, operations]) => operations.length > 1)
      .map(([pen, operations]) => say("pens-shared", where, { cutter: name, pen, operations })),
  ];
};

const hasRoom = (sheet: { width: number; height: number }, m: Margins): boolean =>
  sheet.width > m.left + m.right && sheet.height > m.top + m.bottom;

/** Either way round: the operator turns the sheet, and `axes` says how it lies. */
const liesOn = (sheet: { width: number; height: number }, bed: { width: number; height: number }): boolean =>
  Math.max(sheet.width, sheet.height) <= Math.max(bed.width, bed.height) &&
  Math.min(sheet.width, sheet.height) <= Math.min(bed.width, bed.height);

/** One stock with its press and cutter looked up by their own names, or findings. */
const stockOf = (
  name: string,
  form: ShopForm["stocks"][string],
  presses: ReadonlyMap<string, Press>,
  cutters: ReadonlyMap<string, Cutter>,
): Answer<Stock> => {
  const where: Place = { file: FILE, stock: name };
  const findings: Finding[] = [];
  const why = form.title === undefined ? undefined : badTitle(form.title);
  if (why) findings.push(say("title-bad", where, { noun: `stock ${quoted(name)}`, title: form.title ?? "", why }));
  const press = form.press === null ? null : presses.get(form.press);
  const cutter = cutters.get(form.cutter);
  if (press === undefined)
    findings.push(say("press-unknown", where, { stock: name, press: form.press ?? "", known: [...presses.keys()] }));
  if (!cutter)
    findings.push(say("cutter-unknown", where, { stock: name, cutter: form.cutter, known: [...cutters.keys()] }));
  const sizes = new Map<string, { width: number; height: number }>();
  for (const [w, h] of [form.sheet, ...(form.sheets ?? [])]) {
    const sheet = { width: mm(w), height: mm(h) };
    sizes.set(`${sheet.width} ${sheet.height}`, sheet);
    for (const machine of [press, cutter])
      if (machine && !hasRoom(sheet, machine.margins))
        findings.push(say("sheet-without-room", where, { stock: name, sheet: [w, h], machine: machine.name }));
    if (cutter?.table && !liesOn(sheet, cutter.table)) {
      const table: [number, number] = [toMm(cutter.table.width), toMm(cutter.table.height)];
      findings.push(say("sheet-beyond-table", where, { stock: name, sheet: [w, h], table, cutter: cutter.name }));
    }
    const units = toPlotterUnits(Math.max(sheet.width, sheet.height));
    if (cutter?.formats.includes("hpgl") && units > MOST_PLOTTER_UNITS)
      findings.push(say("sheet-beyond-hpgl", where, { stock: name, sheet: [w, h], units, cutter: cutter.name }));
  }
  if (press === undefined || !cutter) return { findings };
  return {
    findings,
    value: {
      stock: name,
      title: form.title ?? name,
      sheets: [...sizes.values()],
      ...(form.caliper === undefined ? {} : { caliper: mm(form.caliper) }),
      ...(form.grain === undefined ? {} : { grain: form.grain }),
      press,
      cutter,
    },
  };
};

/**
 * A shop as its shop.json describes it: the only maker of a `Shop`.
 * @param input the text of shop.json, or the value that JSON.parse made of it; millimetres
 * @param profiles the ICC profiles that its presses name, and its fonts, by that name
 * @returns the shop in micrometres, or every fault at once; never throws
 */
export const readShop = (input: unknown, profiles: Profiles = {}): Answer<Shop> => {
  const form = readForm(shopForm, input, { file: FILE });
  if (!form.value) return { findings: form.findings };
  const { stocks, presses, cutters, setup, overs, prices, fonts = [], proof } = form.value;
  const findings: Finding[] = [
    ...form.findings,
    ...judgedNames("stock", Object.keys(stocks)),
    ...judgedNames("press", Object.keys(presses)),
    ...judgedNames("cutter", Object.keys(cutters)),
  ];
  if (Object.keys(stocks).length === 0) findings.push(say("shop-empty", { file: FILE }, { what: "stocks" }));
  if (Object.keys(cutters).length === 0) findings.push(say("shop-empty", { file: FILE }, { what: "cutters" }));
  for (const [name, press] of Object.entries(presses)) findings.push(...judgedProfile(name, press, profiles));
  findings.push(...judgedFonts(fonts, profiles));
  for (const [name, cutter] of Object.entries(cutters)) findings.push(...judgedTools(name, cutter));
  const pressMap = new Map(Object.entries(presses).map(([name, p]) => [name, pressOf(name, p, profiles)]));
  const cutterMap = new Map(Object.entries(cutters).map(([name, c]) => [name, cutterOf(name, c)]));
  // Without a prototype: a piece may ask for a stock named "constructor", and must not be given one.
  const read: Record<string, Stock> = Object.create(null) as Record<string, Stock>;
  for (const [name, form] of Object.entries(stocks)) {
    const stock = stockOf(name, form, pressMap, cutterMap);
    findings.push(...stock.findings);
    if (stock.value) read[name] = stock.value;
  }
  if (hasErrors(findings)) return { findings };
  return {
    findings,
    value: {
      stocks: read,
      setup: { sheetChange: setup.sheetChange, newLayout: setup.newLayout },
      overs: { sheets: overs.sheets, share: overs.share },
      ...(prices ? { prices: pricesOf(prices) } : {}),
      ...(fonts.length > 0 ? { fonts: fonts.map((file) => ({ file, bytes: profiles[file] as Uint8Array })) } : {}),
      proof,
    },
  };
};
