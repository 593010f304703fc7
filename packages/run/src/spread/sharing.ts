/**
 * Others who may write sheets of a job, as the one who makes it sees them. Whoever writes a sheet, its bytes are the same;
 * what others wrote is checked and put into the job folder by the one who makes it.
 */
export interface Sharing {
  /** Where to lay what is handed over: a folder that the others see too. It need not be there, and is not taken away. */
  readonly folder: string;
  /** Whether anybody waits for work now. Asked between two sheets until sheets are offered. */
  wanted(): Promise<boolean>;
  /** Sheets by their numbers that lie in the folder, for whoever is first. From here on `take` says who does what. */
  offer(sheets: readonly number[]): Promise<void>;
  /** What to do next. */
  take(): Promise<Taken>;
}

/** What is to be done next, and what was done by others. */
export interface Taken {
  /** A sheet to write here; absent while others are at all that is left. */
  readonly sheet?: number;
  /** Sheets that others have written and the names of their parts, each reported once. */
  readonly written: readonly { readonly sheet: number; readonly part: string }[];
}

/** Who writes sheets of jobs that other processes make. */
export interface SheetWriter {
  /**
   * Writes a sheet from what its job's maker has laid into `folder` (see `Sharing`), as the part `name` beside it. The bytes are
   * those that the other would have written itself. Throws an environment fault when the folder is gone: the job has
   * ended, or is made anew.
   */
  write(folder: string, sheet: number, name: string): Promise<void>;
}
