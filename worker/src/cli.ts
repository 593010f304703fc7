// Every command with its options, one list.
import { readFileSync } from "node:fs";
import { Command, Option } from "commander";
import { endingBy, endingOf, WrongUsage } from "./ending.ts";
import { examplesOf, EXIT_CODES } from "./examples.ts";
import { EXIT } from "./exit.ts";
import {
  address,
  cache,
  effort,
  json,
  needed,
  origin,
  path,
  prefix,
  proxyAddress,
  redis,
  several,
  threads,
  webAddress,
  whole,
} from "./options.ts";
import { openersAhead } from "./openers-ahead.ts";
import { outletOf } from "./outlet.ts";
import { STATES } from "./queue-options.ts";
import { Stop, type Watcher } from "./stop.ts";
import { storeOption } from "./store.ts";
import { Unreadable } from "./unreadable.ts";

/** The command's own version, as its package says. */
const VERSION = (JSON.parse(readFileSync(new URL("../package.json", import.meta.url), "utf8")) as { version: string })
  .version;

/**
 * The command `kitforme` in this thread. Returns the exit code; never throws.
 *
 * @param argv the words of the command line after the command's own name
 * @param watcher ends the command when a signal comes; left out, a signal is the process's own affair
 */
export const main = async (argv: readonly string[], watcher?: Watcher): Promise<number> => {
  let code: number = EXIT.done;
  const outlet = outletOf(argv);
  /** Runs a command that may be stopped; `left` is what a stop leaves behind, as far as the command does not say. */
  const stoppable = async (left: string, command: (stop: Stop) => Promise<number>): Promise<void> => {
    const stop = new Stop(watcher);
    stop.leaves(left);
    code = await command(stop);
  };
  const program = new Command("kitforme")
    .description("Orders for printable paper kits in, press sheets out: print PDFs and cut files that match.")
    .version(VERSION, "--version", "say the version")
    .exitOverride()
    // With --json standard output is for machines, also where help is asked for.
    .configureOutput({ writeOut: (text) => void (outlet.json ? process.stderr : process.stdout).write(text) })
    .showHelpAfterError("(kitforme --help, or kitforme <command> --help, lists what it takes)");

  program
    .command("make")
    .description("make the press sheets of some orders, here and now, with no server")
    .argument("<order.json...>", "the orders to gang on common sheets")
    .addOption(needed("--shop <shop.json>", "stocks, presses and cutters of the shop"))
    .addOption(needed("--kits <folder>", "folder of kit folders"))
    .addOption(needed("--out <folder>", "job folder to write; job.json comes last"))
    .addOption(effort())
    .option("--replace", "another job's finished folder may be replaced")
    .addOption(threads())
    .addOption(cache())
    .addOption(json())
    .action(async (orders: string[], options) => {
      await stoppable("nothing was written to the job folder.", (stop) =>
        openersAhead(
          async (ahead) => (await import("./commands/make.ts")).make(orders, { ...options, ahead }, outlet, stop),
          options.cache,
        ),
      );
    });

  program
    .command("check")
    .description("report findings about kits and orders, make nothing")
    .argument("<kit-folder|order.json...>", "kit folders and orders")
    .addOption(needed("--shop <shop.json>", "stocks, presses and cutters of the shop"))
    .addOption(path("--kits <folder>", "folder of kit folders that the orders are held against"))
    .addOption(json())
    .action(async (paths: string[], options) => {
      await stoppable("nothing was written, as ever by this command.", (stop) =>
        openersAhead(async (ahead) =>
          (await import("./commands/check.ts")).check(paths, { ...options, ahead }, outlet, stop),
        ),
      );
    });

  program
    .command("seal")
    .description("write SHA256SUMS into kits, so that files damaged on their way are found wherever they are made")
    .argument("<kit-folder...>", "kit folders")
    .addOption(json())
    .action(async (folders: string[]) => {
      await stoppable("no sums were written.", async (stop) =>
        (await import("./commands/seal.ts")).seal(folders, outlet, stop),
      );
    });

  program
    .command("estimate")
    .description("what a job would take: sheets, metres, minutes, waste, ink and price; no sheet is written")
    .argument("<order.json...>", "the orders to gang on common sheets")
    .addOption(needed("--shop <shop.json>", "stocks, presses, cutters and prices of the shop"))
    .addOption(needed("--kits <folder>", "folder of kit folders"))
    .addOption(effort().default("quick"))
    .addOption(threads())
    .option("--ink", "weigh the ink by plate too: opens the artwork, which takes some seconds more")
    .addOption(cache("with --ink: "))
    .addOption(json())
    .action(async (orders: string[], options) => {
      await stoppable("nothing was written, as ever by this command.", (stop) =>
        openersAhead(
          async (ahead) =>
            (await import("./commands/estimate.ts")).estimate(orders, { ...options, ahead }, outlet, stop),
          options.cache,
        ),
      );
    });

  program
    .command("remake")
    .description("make spoiled pieces of a finished job anew, on make-up sheets of their own")
    .addOption(path("--job <folder>", "the finished job's folder, with --out"))
    .option("--order <name>", "an order that the queue made: pieces of its job are made anew by the queue")
    .requiredOption("--spoiled <places>", "their places as sheet:number, with commas: 2:7,3:1", (text: string) =>
      text.split(",").flatMap((place) => place.trim() || []),
    )
    .addOption(path("--out <folder>", "job folder to write; job.json comes last"))
    .option("--replace", "replace the finished folder of another job")
    .option("--as <name>", "with --order: what the remake is called on the queue")
    .addOption(effort())
    .addOption(cache())
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (options, remake: Command) => {
      const { order, job, out, ...how } = options;
      const said = (name: string): boolean => remake.getOptionValueSource(name) === "cli";
      if (order !== undefined && job === undefined && out === undefined) {
        if (said("effort"))
          throw new WrongUsage("--effort goes with --job: with --order, the effort is that of the order's job.");
        if (said("cache"))
          throw new WrongUsage("--cache goes with --job: with --order, the queue has a cache of its own.");
        if (said("replace"))
          throw new WrongUsage("--replace goes with --job: with --order, the queue makes a folder of its own.");
        return stoppable("`kitforme status` says whether it is on the queue.", async () =>
          (await import("./commands/change.ts")).again(order, how, outlet),
        );
      }
      if (said("as")) throw new WrongUsage("--as goes with --order: a job in a folder is named by what it holds.");
      if (order !== undefined || job === undefined || out === undefined)
        throw new WrongUsage("Name --job and --out, or --order for a job that the queue made.");
      return stoppable("nothing was written to the job folder.", (stop) =>
        openersAhead(
          async (ahead) => (await import("./commands/remake.ts")).remake({ ...how, job, out, ahead }, outlet, stop),
          how.cache,
        ),
      );
    });

  program
    .command("fit")
    .description("fit a sheet's cut files to the sheet as it was printed, by its marks as a camera read them")
    .addOption(needed("--job <folder>", "the finished job's folder"))
    .requiredOption("--sheet <n>", "number of the sheet in job.json", whole(1))
    .addOption(
      needed("--seen <marks.json>", '{ "seen": [[x, y], ...] }: millimetres in the camera\'s frame, in any order'),
    )
    .addOption(needed("--out <folder>", "where the fitted cut files are written"))
    .addOption(json())
    .action(async (options) => {
      await stoppable("no cut file was written.", async (stop) =>
        (await import("./commands/fit.ts")).fit(options, outlet, stop),
      );
    });

  program
    .command("preview")
    .description("pieces of a kit as they look when cut, or every finding of a kit drawn at its place")
    .addOption(needed("--shop <shop.json>", "stocks, presses and cutters of the shop"))
    .addOption(needed("--kits <folder>", "folder of kit folders"))
    .requiredOption("--kit <name>", "the kit")
    .option("--piece <name>", "one piece; left out, all: FILE-PIECE.png each")
    .option("--copy <json>", 'words of the copy by slot, as {"name": "Aino"}, or a file that holds them')
    .addOption(needed("--out <file.png>", "the picture"))
    .option("--back", "the reverse of the pieces, turned over left for right")
    .option("--flaws", "FILE-PIECE.png of each piece that has findings, and FILE.html that shows them all")
    .addOption(json())
    .action(async (options) => {
      await stoppable("no picture was written.", async (stop) =>
        (await import("./commands/preview.ts")).preview(options, outlet, stop),
      );
    });

  program
    .command("work")
    .description("take orders from the queue and make them, until stopped by SIGTERM or SIGINT")
    .addOption(needed("--shop <shop.json>", "stocks, presses and cutters of the shop").env("KITFORME_SHOP"))
    .addOption(needed("--kits <folder>", "folder of kit folders").env("KITFORME_KITS"))
    .addOption(needed("--out <folder>", "folder that receives a job folder per gang").env("KITFORME_OUT"))
    .addOption(
      new Option("--concurrency <n>", "jobs at once in this process")
        .env("KITFORME_CONCURRENCY")
        .argParser(whole(1, 64))
        .default(1),
    )
    .addOption(
      new Option("--memory <MiB>", "heap that one job may have; left out, what Node gives a thread here")
        .env("KITFORME_MEMORY")
        .argParser(whole(64, 1_048_576)),
    )
    .addOption(
      path(
        "--cache <folder>",
        "prepared pieces, for all workers that see the folder; left out, .kitforme/cache in the out folder",
      ).env("KITFORME_CACHE"),
    )
    .addOption(
      new Option("--cache-size <MiB>", "room that prepared pieces may take; 0 keeps none")
        .env("KITFORME_CACHE_SIZE")
        .argParser(whole(0, 1_048_576))
        .default(1024),
    )
    .addOption(
      new Option("--grace <seconds>", "how long a running job may go on after a stop before it is handed back")
        .env("KITFORME_GRACE")
        .argParser((seconds) => whole(0, 86_400)(seconds) * 1_000)
        .default(25_000, "25"),
    )
    .addOption(
      new Option("--keep <days>", "how long orders are remembered after their end; 0 for ever")
        .env("KITFORME_KEEP")
        .argParser(whole(0, 36_500))
        .default(90),
    )
    .addOption(
      new Option("--health <[host:]port>", "listen here for /health and /metrics")
        .env("KITFORME_HEALTH")
        .argParser((text: string) => {
          address(text);
          return text;
        }),
    )
    .addOption(storeOption())
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (options) => {
      code = await (await import("./commands/work.ts")).work(options, outlet);
    });

  program
    .command("serve")
    .description("answer stores by HTTP: orders in, states, files and previews out; TLS is for the proxy in front")
    .addOption(needed("--shop <shop.json>", "stocks, presses and cutters of the shop").env("KITFORME_SHOP"))
    .addOption(needed("--kits <folder>", "folder of kit folders").env("KITFORME_KITS"))
    .addOption(needed("--out <folder>", "folder of jobs, as the workers see it").env("KITFORME_OUT"))
    .addOption(needed("--tokens <file>", "a name and a token a line").env("KITFORME_TOKENS"))
    .addOption(
      new Option("--listen <[host:]port>", "where it listens")
        .env("KITFORME_LISTEN")
        .argParser(address)
        .default({ host: "127.0.0.1", port: 9465 }, "127.0.0.1:9465"),
    )
    .addOption(effort().env("KITFORME_EFFORT"))
    .addOption(
      new Option("--rate <n>", "requests a second that each name has")
        .env("KITFORME_RATE")
        .argParser(whole(1, 1_000_000))
        .default(1_000),
    )
    .addOption(
      new Option("--body <MiB>", "largest body that is taken").env("KITFORME_BODY").argParser(whole(1, 512)).default(8),
    )
    .addOption(
      new Option("--origin <origins>", "store pages that may listen to events, with commas: https://store.example")
        .env("KITFORME_ORIGIN")
        .argParser(several(origin)),
    )
    .addOption(
      new Option("--proxy <addresses>", "proxies that say who asks (X-Forwarded-For), with commas")
        .env("KITFORME_PROXY")
        .argParser(several(proxyAddress)),
    )
    .addOption(
      new Option("--webhook <url>", "where every change of an order's state is sent")
        .env("KITFORME_WEBHOOK")
        .argParser(webAddress),
    )
    .addOption(path("--webhook-secret <file>", "what webhooks are signed with").env("KITFORME_WEBHOOK_SECRET"))
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (options) => {
      code = await (await import("./commands/serve.ts")).serve(options, outlet);
    });

  program
    .command("submit")
    .description("put orders on the queue, where they wait for a gang that is worth printing")
    .argument("<order.json...>", "the orders")
    .option("--now", "made at once, those of this call together")
    .option("--change", "an order of the same name that is not ganged yet is replaced")
    .addOption(
      path("--shop <shop.json>", "with --kits and --out: fixes shop and kits as they are now").env("KITFORME_SHOP"),
    )
    .addOption(path("--kits <folder>", "folder of kit folders, as the workers see it").env("KITFORME_KITS"))
    .addOption(path("--out <folder>", "folder of jobs, as the workers see it").env("KITFORME_OUT"))
    .addOption(effort())
    .addOption(storeOption())
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (orders: string[], options) => {
      await stoppable("`kitforme status` says which orders are on the queue.", async () =>
        (await import("./commands/submit.ts")).submit(orders, options, outlet),
      );
    });

  program
    .command("status")
    .description(
      "say where orders are: received, checked, waiting, ganged, being made, made, refused, failed, cancelled",
    )
    .argument("[order]", "name of an order; all of them when left out")
    .addOption(new Option("--state <state...>", "only orders in these states").choices(STATES))
    .addOption(new Option("--limit <n>", "at most so many").argParser(whole(1)))
    .addOption(new Option("--skip <n>", "after so many").argParser(whole(0)))
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (order: string | undefined, options) => {
      await stoppable("nothing was changed.", async () =>
        (await import("./commands/status.ts")).status(order, options, outlet),
      );
    });

  program
    .command("cancel")
    .description("take orders back that are not ganged yet")
    .argument("<order...>", "names of orders")
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (orders: string[], options) => {
      await stoppable("`kitforme status` says which orders are cancelled.", async () =>
        (await import("./commands/change.ts")).cancel(orders, options, outlet),
      );
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
      await stoppable("`kitforme status` says which orders are on the queue again.", async () =>
        (await import("./commands/change.ts")).retry(order, options, outlet),
      );
    });

  program
    .command("reprint")
    .description("print an order again that the queue made, from what its job recorded")
    .argument("<order>", "name of the order")
    .option("--as <name>", "what the reprint is called on the queue; left out, ORDER:reprint")
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (order: string, options) => {
      await stoppable("`kitforme status` says whether it is on the queue.", async () =>
        (await import("./commands/change.ts")).again(order, options, outlet),
      );
    });

  program
    .command("watch")
    .description("show how orders go on, one to its end or all")
    .argument("[order]", "name of an order; all of them when left out")
    .addOption(redis())
    .addOption(prefix())
    .addOption(json())
    .action(async (order: string | undefined, options) => {
      code = await (await import("./commands/change.ts")).watch(order, options, outlet);
    });

  for (const command of [program, ...program.commands])
    command.addHelpText("after", `${examplesOf(command.name())}${EXIT_CODES}`);
  try {
    await program.parseAsync([...argv], { from: "user" });
    outlet.end(endingOf(code));
    return code;
  } catch (error) {
    if (error instanceof Unreadable) {
      const { refuse } = await import("./refuse.ts");
      outlet.end(endingOf(refuse([error.finding], "Ended there", outlet)));
      return EXIT.input;
    }
    const ending = endingBy(error);
    outlet.end(ending);
    return ending.exit;
  }
};
