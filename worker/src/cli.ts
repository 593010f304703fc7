import { readFileSync } from "node:fs";
import { Command, CommanderError, InvalidArgumentError, Option } from "commander";
import { failureOf } from "@kitforme/run";
import { cancel, retry, watch } from "./commands/change.ts";
import { check } from "./commands/check.ts";
import { estimate } from "./commands/estimate.ts";
import { fit } from "./commands/fit.ts";
import { remake } from "./commands/remake.ts";
import { make, Stopped } from "./commands/make.ts";
import { preview } from "./commands/preview.ts";
import { status } from "./commands/status.ts";
import { submit } from "./commands/submit.ts";
import { work } from "./commands/work.ts";
import { EXIT } from "./exit.ts";
import { Unreadable } from "./kits-of-user.ts";
import { outletOf } from "./outlet.ts";
import { refuse } from "./refuse.ts";
import { NoQueue } from "./queue.ts";
import { DEFAULT_PREFIX, DEFAULT_URL, faultOfUrl, STATES } from "./queue-options.ts";

const whole =
  (least: number) =>
  (text: string): number => {
    const value = Number(text);
    if (!Number.isInteger(value) || value < least)
      throw new InvalidArgumentError(`A whole number from ${least} is wanted.`);
    return value;
  };

const effort = () =>
  new Option(
    "--effort <effort>",
    "how long the layout is searched; counted in iterations, so the result is the same everywhere",
  )
    .choices(["quick", "normal", "best"])
    .default("normal");
const json = () => new Option("--json", "machine-readable lines on standard output; words go to standard error");
const redis = () =>
  new Option("--redis <url>", "the queue's Redis: redis://HOST:PORT, or rediss:// for TLS, with :PASSWORD@ before HOST")
    .env("REDIS_URL")
    .argParser((url: string) => {
      const fault = faultOfUrl(url);
      if (fault !== undefined) throw new InvalidArgumentError(fault);
      return url;
    })
    .default(DEFAULT_URL);
const prefix = () =>
  new Option("--prefix <name>", "keys in Redis start with this").env("KITFORME_PREFIX").default(DEFAULT_PREFIX);

/** The command's own version, as its package says. */
const VERSION = (JSON.parse(readFileSync(new URL("../package.json", import.meta.url), "utf8")) as { version: string })
  .version;

/** The command `kitforme`. Returns the exit code; never throws. */
export const main = async (argv: readonly string[]): Promise<number> => {
  let code: number = EXIT.done;
  // Who reads our lines may have read enough ("| head"): that is no failure.
  for (const stream of [process.stdout, process.stderr])
    stream.once("error", (error: NodeJS.ErrnoException) => {
      if (error.code !== "EPIPE") throw error;
      process.exit(EXIT.done);
    });
  const program = new Command("kitforme")
    .description("Orders for printable paper kits in, press sheets out: print PDFs and cut files that match.")
    .version(VERSION, "--version", "say the version")
    .exitOverride()
    .showHelpAfterError("(kitforme --help, or kitforme <command> --help, lists what it takes)");

  program
    .command("make")
    .description("make the press sheets of some orders, here and now, with no server")
    .argument("<order.json...>", "the orders to gang on common sheets")
    .requiredOption("--shop <shop.json>", "stocks, presses and cutters of the shop")
    .requiredOption("--kits <folder>", "folder of kit folders")
    .requiredOption("--out <folder>", "job folder to write; job.json comes last")
    .addOption(effort())
    .option("--replace", "another job's finished folder may be replaced")
    .addOption(
      new Option("--threads <n>", "threads for the layout; the result does not depend on it").argParser(whole(1)),
    )
    .addOption(json())
    .action(async (orders: string[], options) => {
      code = await make(orders, options, outletOf(options.json === true));
    });

  program
    .command("check")
    .description("report findings about kits and orders, make nothing")
    .argument("<kit-folder|order.json...>", "kit folders and orders")
    .requiredOption("--shop <shop.json>", "stocks, presses and cutters of the shop")
    .option("--kits <folder>", "folder of kit folders that the orders are held against")
    .addOption(json())
    .action(async (paths: string[], options) => {
      code = await check(paths, options, outletOf(options.json === true));
    });

  program
    .command("estimate")
    .description("what a job would take: sheets, metres, minutes, waste and price; no sheet is written")
    .argument("<order.json...>", "the orders to gang on common sheets")
    .requiredOption("--shop <shop.json>", "stocks, presses, cutters and prices of the shop")
    .requiredOption("--kits <folder>", "folder of kit folders")
    .addOption(effort().default("quick"))
    .addOption(
      new Option("--threads <n>", "threads for the layout; the result does not depend on it").argParser(whole(1)),
    )
    .addOption(json())
    .action(async (orders: string[], options) => {
      code = await estimate(orders, options, outletOf(options.json === true));
    });

  program
    .command("remake")
    .description("make spoiled pieces of a finished job anew, on make-up sheets of their own")
    .requiredOption("--job <folder>", "the finished job's folder")
    .requiredOption("--spoiled <places>", "their places as sheet:number, with commas: 2:7,3:1", (text: string) =>
      text.split(",").filter((place) => place.trim() !== ""),
    )
    .requiredOption("--out <folder>", "job folder to write; job.json comes last")
    .option("--replace", "replace the finished folder of another job")
    .addOption(effort())
    .addOption(json())
    .action(async (options) => {
      code = await remake(options, outletOf(options.json === true));
    });

  program
    .command("fit")
    .description("fit a sheet's cut files to the sheet as it was printed, by its marks as a camera read them")
    .requiredOption("--job <folder>", "the finished job's folder")
    .requiredOption("--sheet <n>", "number of the sheet in job.json", whole(1))
    .requiredOption(
      "--seen <marks.json>",
      '{ "seen": [[x, y], ...] }: millimetres in the camera\'s frame, in any order',
    )
    .requiredOption("--out <folder>", "where the fitted cut files are written")
    .addOption(json())
    .action(async (options) => {
      code = await fit(options, outletOf(options.json === true));
    });

  program
    .command("preview")
    .description("pieces of a kit as they look when cut, or every finding of a kit drawn at its place")
    .requiredOption("--shop <shop.json>", "stocks, presses and cutters of the shop")
    .requiredOption("--kits <folder>", "folder of kit folders")
    .requiredOption("--kit <name>", "the kit")
    .option("--piece <name>", "one piece; left out, all: FILE-PIECE.png each")
    .option("--copy <json>", 'words of the copy by slot, as {"name": "Aino"}, or a file that holds them')
    .requiredOption("--out <file.png>", "the picture")
    .option("--flaws", "FILE-PIECE.png of each piece that has findings, and FILE.html that shows them all")
    .addOption(json())
    .action(async (options) => {
      code = await preview(options, outletOf(options.json === true));
    });

  program
    .command("work")
    .description("take orders from the queue and make them, until stopped by SIGTERM or SIGINT")
    .addOption(
      new Option("--shop <shop.json>", "stocks, presses and cutters of the shop")
        .env("KITFORME_SHOP")
        .makeOptionMandatory(),
    )
    .addOption(new Option("--kits <folder>", "folder of kit folders").env("KITFORME_KITS").makeOptionMandatory())
    .addOption(
      new Option("--out <folder>", "folder that receives a job folder per gang")
        .env("KITFORME_OUT")
        .makeOptionMandatory(),
    )
    .addOption(
      new Option("--concurrency <n>", "jobs at once in this process")
        .env("KITFORME_CONCURRENCY")
        .argParser(whole(1))
        .default(1),
    )
    .addOption(
      new Option("--memory <MiB>", "heap that one job may have; left out, what Node gives a thread here")
        .env("KITFORME_MEMORY")
        .argParser(whole(64)),
    )
    .addOption(
      new Option("--grace <seconds>", "how long a running job may go on after a stop before it is handed back")
        .env("KITFORME_GRACE")
        .argParser((seconds) => whole(0)(seconds) * 1_000)
        .default(25_000, "25"),
    )
    .addOption(
      new Option("--keep <days>", "how long orders are remembered after their end; 0 for ever")
        .env("KITFORME_KEEP")
        .argParser(whole(0))
        .default(90),
    )
    .addOption(
      new Option("--health <[host:]port>", "listen here for /health and /metrics")
        .env("KITFORME_HEALTH")
        .argParser((address: string) => {
          const port = Number(/^(?:.+:)?(\d+)$/.exec(address)?.[1] ?? Number.NaN);
          if (port <= 65_535) return address;
          throw new InvalidArgumentError("It is to read PORT or HOST:PORT, the port at most 65535.");
        }),
    )
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (options) => {
      code = await work(options, outletOf(options.json === true));
    });

  program
    .command("submit")
    .description("put orders on the queue, where they wait for a gang that is worth printing")
    .argument("<order.json...>", "the orders")
    .option("--now", "made at once, those of this call together")
    .option("--change", "an order of the same name that is not ganged yet is replaced")
    .addOption(
      new Option("--shop <shop.json>", "with --kits and --out: fixes shop and kits as they are now").env(
        "KITFORME_SHOP",
      ),
    )
    .addOption(new Option("--kits <folder>", "folder of kit folders, as the workers see it").env("KITFORME_KITS"))
    .addOption(new Option("--out <folder>", "folder of jobs, as the workers see it").env("KITFORME_OUT"))
    .addOption(effort())
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (orders: string[], options) => {
      code = await submit(orders, options, outletOf(options.json === true));
    });

  program
    .command("status")
    .description("say where orders are: received, waiting, ganged, being made, made, refused, failed, cancelled")
    .argument("[order]", "name of an order; all of them when left out")
    .addOption(new Option("--state <state...>", "only orders in these states").choices(STATES))
    .addOption(new Option("--limit <n>", "at most so many").argParser(whole(1)))
    .addOption(new Option("--skip <n>", "after so many").argParser(whole(0)))
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (order: string | undefined, options) => {
      code = await status(order, options, outletOf(options.json === true));
    });

  program
    .command("cancel")
    .description("take orders back that are not ganged yet")
    .argument("<order...>", "names of orders")
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (orders: string[], options) => {
      code = await cancel(orders, options, outletOf(options.json === true));
    });

  program
    .command("retry")
    .description("put failed orders back on the queue")
    .argument("[order]", "name of an order")
    .option("--failed", "all that failed")
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (order: string | undefined, options) => {
      code = await retry(order, options, outletOf(options.json === true));
    });

  program
    .command("watch")
    .description("show how orders go on, one to its end or all")
    .argument("[order]", "name of an order; all of them when left out")
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (order: string | undefined, options) => {
      code = await watch(order, options, outletOf(options.json === true));
    });

  try {
    await program.parseAsync([...argv], { from: "user" });
    return code;
  } catch (error) {
    // Commander has printed its own words already; help and version come this way with code 0.
    if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.done : EXIT.usage;
    if (error instanceof Unreadable) return refuse([error.finding], "Ended there", outletOf(argv.includes("--json")));
    if (error instanceof Stopped) {
      process.stderr.write(`${error.message}\n`);
      return EXIT.ours;
    }
    if (error instanceof NoQueue) {
      process.stderr.write(`${error.message}\n`);
      return EXIT.ours;
    }
    const { kind, message: words } = failureOf(error);
    if (kind === "environment" || (error instanceof Error && error.name === "RedisAway")) {
      process.stderr.write(`kitforme was stopped by its surroundings: ${words}\n`);
      return EXIT.ours;
    }
    process.stderr.write(`kitforme failed, and the fault is its own: ${words}\n`);
    if (process.env["KITFORME_TRACE"] && error instanceof Error) process.stderr.write(`${error.stack}\n`);
    else process.stderr.write("(KITFORME_TRACE=1 prints where; please report it)\n");
    return EXIT.ours;
  }
};
