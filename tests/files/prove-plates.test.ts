// A spot ink and the process inks that stand for it look the same on screen: only the file tells them apart.
import { proveSheet, References } from "@kitforme/files";
import type { Page } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { PDFDocument, PDFName, PDFOperator, type PDFOperatorNames } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { made, written } from "../support/proven.ts";
import { sticker } from "../support/sheets.ts";

/** A page of one colour: the spot ink Coral, or the very inks that stand for it. */
const coral = async (id: string, spot: boolean): Promise<Page> => {
  const document = await PDFDocument.create({ updateMetadata: false });
  const page = document.addPage([130, 130]);
  const { context } = document;
  const tint = context.obj({ FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: [0, 0.7, 0.5, 0], N: 1 });
  const space = context.obj([PDFName.of("Separation"), PDFName.of("Coral"), PDFName.of("DeviceCMYK"), tint]);
  page.node.normalize();
  page.node.Resources()?.set(PDFName.of("ColorSpace"), context.obj({ CS1: space }));
  const say = (name: string, ...operands: (string | number)[]): PDFOperator =>
    PDFOperator.of(
      name as PDFOperatorNames,
      operands.map((one) => (typeof one === "string" ? PDFName.of(one) : context.obj(one))),
    );
  page.pushOperators(
    ...(spot ? [say("cs", "CS1"), say("scn", 1)] : [say("k", 0, 0.7, 0.5, 0)]),
    say("re", 0, 0, 130, 130),
    say("f"),
  );
  const bytes = await document.save({ useObjectStreams: false });
  return { id, bytes, index: 0, ...(spot ? { spots: { Coral: ["0 0.7 0.5 0"] } } : {}) };
};

describe("a spot ink that is kept", () => {
  it("is proven to be on a plate of its own, in the artwork and in a patch of the waste", async () => {
    const page = await coral("coral", true);
    const prepared = { ...sticker(page), spots: page.spots ?? {} };
    const bare = await made([{ prepared, at: [30, 75] }]);
    const patch = {
      outlines: "M 150000 90000 L 155000 90000 L 155000 95000 L 150000 95000 Z",
      item: "colourBar",
    } as const;
    const ink = { space: "spot", name: "Coral", tint: 1 } as const;
    const sheet: Sheet = { ...bare, inks: [...bare.inks, { ...patch, ink }] };
    const good = await written(sheet);
    expect((await proveSheet(sheet, good, "full", new References())).faults).toEqual([]);

    const process = { ...sticker(await coral("as process inks", false)) };
    const flat: Sheet = { ...bare, placed: bare.placed.map((p) => ({ ...p, prepared: process })) };
    const found = await proveSheet(bare, { ...good, print: (await written(flat)).print }, "full", new References());
    expect(found.faults.map(({ what }) => what).join()).toMatch(/place 1 .* paints nothing with the spot ink "Coral"/);

    const pale: Sheet = { ...bare, inks: [...bare.inks, { ...patch, ink: { ...ink, tint: 0.5 } }] };
    const half = await proveSheet(sheet, { ...good, print: (await written(pale)).print }, "full", new References());
    expect(half.faults.map(({ what }) => what).join()).toContain(
      'a patch of the spot ink "Coral" is not printed with it',
    );
  });
});
