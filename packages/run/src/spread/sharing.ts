/** Stages of a job whose parts others may do: preparing pieces, laying out stocks, writing sheets. */
export type SharedStage = "piece" | "layout" | "sheet";

/**
 * Others who may do parts of a job, as the one who makes it sees them. Whoever does a part, its bytes are the same; what others
 * did is checked and taken over by the one who makes the job. The stages follow each other: a stage is over when all its
 * parts are done.
 */
export interface Sharing {
  /** Where to lay what is handed over: a folder that the others see too. It need not be there, and is not taken away. */
  readonly folder: string;
  /** Which of the jobs begun at the same time this is: odd ones prepare their pieces from the last to the first, so that two jobs of
   * the same pieces do not prepare the same one. */
  readonly turn: number;
  /** Whether anybody waits for work now. Asked between two parts until some are offered. */
  wanted(): Promise<boolean>;
  /** Parts of a stage by their numbers that lie in the folder, for whoever is first. From here on `take` says who does what. */
  offer(stage: SharedStage, numbers: readonly number[]): Promise<void>;
  /** What to do next of what was offered last. */
  take(): Promise<Taken>;
}

/** What is to be done next, and what was done by others. */
export interface Taken {
  /** A part to do here; absent while others are at all that is left. */
  readonly number?: number;
  /** Parts that others have done and the names of their files, each reported once. */
  readonly done: readonly { readonly number: number; readonly part: string }[];
}

/** Who does parts of jobs that other processes make. */
export interface PartWriter {
  /**
   * Does a part from what its job's maker has laid into `folder` (see `Sharing`), as the file `name` beside it. The bytes are
   * those that the other would have made itself. Throws an environment fault when the folder is gone: the job has
   * ended, or is made anew.
   */
  write(folder: string, stage: SharedStage, number: number, name: string): Promise<void>;
}
