import type * as Queue from "@kitforme/queue";
import type * as Server from "@kitforme/serve";

/** The queue is a package of its own, which those who only make jobs here and now need not install. */
export class NoQueue extends Error {
  constructor(
    reason = "The queue is not installed beside this command: npm install @kitforme/queue (make and check need none).",
  ) {
    super(reason);
  }
}

/** The queue's package, where it is installed. Throws `NoQueue` where it is not. */
export const theQueue = async (): Promise<typeof Queue> => {
  try {
    return await import("@kitforme/queue");
  } catch (error) {
    const missing = error instanceof Error && "code" in error && error.code === "ERR_MODULE_NOT_FOUND";
    if (missing && error.message.includes("@kitforme/queue")) throw new NoQueue();
    throw error;
  }
};

/** The HTTP server is a package of its own too. */
export class NoServer extends NoQueue {
  constructor() {
    super("The server is not installed beside this command: npm install @kitforme/serve.");
  }
}

/** The server's package, where it is installed. Throws `NoServer` where it is not. */
export const theServer = async (): Promise<typeof Server> => {
  try {
    return await import("@kitforme/serve");
  } catch (error) {
    const missing = error instanceof Error && "code" in error && error.code === "ERR_MODULE_NOT_FOUND";
    if (missing && error.message.includes("@kitforme/serve")) throw new NoServer();
    throw error;
  }
};
