import type * as Queue from "@kitforme/queue";

/** The queue is a package of its own, which those who only make jobs here and now need not install. */
export class NoQueue extends Error {
  constructor() {
    super("The queue is not installed beside this command: npm install @kitforme/queue (make and check need none).");
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
