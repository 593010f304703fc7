// What stands under the help of each command. A test runs every line and asks that it is no wrong usage.

/** Examples by the command's name. */
export const EXAMPLES: Readonly<Record<string, readonly string[]>> = {
  make: [
    "kitforme make --shop shop.json --kits kits --out out/monday orders/HM-1041.json orders/HM-1042.json",
    "kitforme make --shop shop.json --kits kits --out out/monday --effort best --replace orders/HM-1041.json",
    "kitforme make --shop shop.json --kits kits --out out/rush --effort quick --cache cache orders/HM-1042.json",
  ],
  check: [
    "kitforme check --shop shop.json kits/lantern",
    "kitforme check --shop shop.json --kits kits orders/HM-1041.json",
  ],
  seal: ["kitforme seal kits/lantern"],
  estimate: [
    "kitforme estimate --shop shop.json --kits kits orders/HM-1041.json",
    "kitforme estimate --ink --shop shop.json --kits kits orders/HM-1041.json",
  ],
  remake: [
    "kitforme remake --job out/monday --spoiled 2:7,3:1 --out out/monday-again",
    "kitforme remake --order HM-1041 --spoiled 2:7,3:1",
  ],
  fit: ["kitforme fit --job out/monday --sheet 3 --seen marks.json --out out/monday-fitted"],
  preview: [
    `kitforme preview --shop shop.json --kits kits --kit lantern --copy '{"name": "Aino"}' --out lantern.png`,
    "kitforme preview --shop shop.json --kits kits --kit lantern --flaws --out lantern.png",
  ],
  work: ["kitforme work --shop shop.json --kits kits --out jobs --health 8080"],
  serve: ["kitforme serve --shop shop.json --kits kits --out jobs --tokens tokens --listen 9465"],
  submit: ["kitforme submit orders/HM-1041.json", "kitforme submit --now orders/HM-1041.json orders/HM-1042.json"],
  status: ["kitforme status HM-1041", "kitforme status --state waiting ganged --json"],
  cancel: ["kitforme cancel HM-1041"],
  retry: ["kitforme retry HM-1041", "kitforme retry --failed"],
  reprint: ["kitforme reprint HM-1041"],
  watch: ["kitforme watch HM-1041"],
};

export const examplesOf = (command: string): string => {
  const lines = EXAMPLES[command] ?? [];
  return lines.length === 0
    ? ""
    : `\n${lines.length === 1 ? "Example" : "Examples"}:\n${lines.map((line) => `  ${line}\n`).join("")}`;
};

/** Under every help. */
export const EXIT_CODES = `
Exit codes:
  0  done
  1  the input is at fault; every fault is listed with its place and what to do
  2  wrong usage
  3  our own failure, that of disk, network or Redis, or a stop by a signal
With --json the last line is {"event":"end","end":...,"exit":...}, "end" one of done, refused, usage, interrupted, environment, failed.
`;
