// Packed pictures are kept for the next sheet, within their bytes, and packed anew when they had to go.
import { PackedPictures } from "@kitforme/files";
import { expect, it } from "vitest";

it("packs a picture once, also when two sheets ask at the same time, and forgets what was used longest ago", async () => {
  const pictures = new PackedPictures(25);
  const packed: string[] = [];
  const ask = (id: string, size = 10): Promise<Uint8Array> =>
    pictures.of(id, () => {
      packed.push(id);
      return Promise.resolve(new Uint8Array(size));
    });
  const [one, other] = await Promise.all([ask("a"), ask("a")]);
  expect(one).toBe(other);
  await ask("b");
  await ask("a");
  await ask("c");
  expect(packed).toEqual(["a", "b", "c"]);
  await ask("a");
  await ask("c");
  expect(packed).toEqual(["a", "b", "c"]);
  await ask("b");
  expect(packed).toEqual(["a", "b", "c", "b"]);
  expect((await ask("huge", 100)).length).toBe(100);
  await ask("huge", 100);
  expect(packed.filter((id) => id === "huge")).toHaveLength(2);
});
