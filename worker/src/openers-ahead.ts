import type { Openers } from "@kitforme/run/openers";

/**
 * Does a command with openers whose first process starts at once: it loads its libraries while the command loads its own, which
 * half a second of every job, check and estimate went to. They end with the command, whether it came to use them or not.
 */
export const openersAhead = async <T>(command: (ahead: Openers) => Promise<T>): Promise<T> => {
  const { Openers } = await import("@kitforme/run/openers");
  const ahead = new Openers();
  ahead.warm(1);
  try {
    return await command(ahead);
  } finally {
    await ahead.close();
  }
};
