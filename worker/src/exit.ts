/** Exit codes of every command: done, the input is at fault, wrong usage, our own failure. */
export const EXIT = { done: 0, input: 1, usage: 2, ours: 3 } as const;
