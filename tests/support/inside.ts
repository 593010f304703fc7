import { main } from "kitforme";
import { vi } from "vitest";

/** Runs the command in this process, which takes a tenth of the time, and gives what it said. */
export const inside = async (args: readonly string[]) => {
  const said = { out: "", err: "" };
  const hear = (name: "out" | "err") => (text: string | Uint8Array) => {
    said[name] += String(text);
    return true;
  };
  const spies = [
    vi.spyOn(process.stdout, "write").mockImplementation(hear("out")),
    vi.spyOn(process.stderr, "write").mockImplementation(hear("err")),
  ];
  try {
    return { code: await main(args), ...said };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
};
