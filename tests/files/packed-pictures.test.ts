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

it("lends room that nobody else has at the same time, and the same to the next", async () => {
  const pictures = new PackedPictures();
  const [one, other] = await Promise.all([10, 20].map((n) => pictures.within(n, (room) => Promise.resolve(room))));
  expect([one?.length, other?.length]).toEqual([10, 20]);
  expect(one?.buffer).not.toBe(other?.buffer);
  const next = await pictures.within(15, (room) => Promise.resolve(room));
  expect([next.length, next.buffer === other?.buffer]).toEqual([15, true]);
  await expect(pictures.within(5, () => Promise.reject(new Error("full")))).rejects.toThrow("full");
  expect((await pictures.within(5, (room) => Promise.resolve(room))).buffer).toBe(other?.buffer);
});
