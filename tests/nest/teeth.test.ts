// Saw teeth, fur, torn edges: outlines of many deep points are laid in a time that ordinary ones take, and validly.
import { mm, point } from "@kitforme/geometry";
import { breachesOf, Catalogues, type Field, type Footprint, pack } from "@kitforme/nest";
import { expect, it } from "vitest";
import { objections } from "./second-opinion.ts";

/** A gear of teeth, 4 mm deep at a radius of 40 mm. */
const gear = (id: string, radius: number, teeth: number): Footprint => {
  const outer = Array.from({ length: 2 * teeth }, (_, i) => {
    const [angle, r] = [(Math.PI * i) / teeth, radius * (i % 2 === 0 ? 1 : 0.9)];
    return point(mm(r * Math.cos(angle)), mm(r * Math.sin(angle)));
  });
  return { id, shape: [{ outer, openings: [] }], core: [], turns: [0, 90, 180, 270] };
};

it("grow over their valleys until few points are left, and are laid validly by two opinions", async () => {
  const footprints = [gear("a", 40, 600), gear("b", 28, 250)];
  const all = { x: 0, y: 0, width: mm(320), height: mm(450) };
  const field: Field = {
    id: "sheet",
    width: all.width,
    height: all.height,
    bounds: all,
    coreBounds: all,
    keepOuts: [],
    clearance: mm(1),
  };
  for (const { parts, area } of new Catalogues().of(footprints, [field], true).kinds) {
    expect(parts.every(({ ring }) => ring.length / 2 <= 120)).toBe(true);
    const radius = Math.sqrt(area / Math.PI);
    // No more is covered than by a disc around the teeth.
    expect(Math.min(Math.abs(radius - mm(40)), Math.abs(radius - mm(28)))).toBeLessThan(mm(1));
  }
  const items = Array.from({ length: 12 }, (_, key) => ({ footprint: key % 2, key }));
  const before = process.cpuUsage();
  const { sheets, leftovers } = await pack({
    footprints,
    fields: [field],
    items,
    effort: "quick",
    seed: 1,
    draft: true,
  });
  const { user, system } = process.cpuUsage(before);
  expect(leftovers).toEqual([]);
  expect(sheets.length).toBe(1);
  for (const sheet of sheets) {
    const placed = sheet.placements.map((p) => ({ ...p, footprint: items[p.key]?.footprint ?? -1 }));
    expect(breachesOf(placed, footprints, field)).toEqual([]);
    expect(objections(placed, footprints, field)).toEqual([]);
  }
  // 1.5 s on an idle machine; without it more than a minute.
  expect((user + system) / 1e6).toBeLessThan(15);
});
