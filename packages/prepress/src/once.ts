/** What is made when it is first asked for, and then stays: files of this package, which never change. */
export const once = <T>(make: () => T): (() => T) => {
  let made: T | undefined;
  return () => {
    made ??= make();
    return made;
  };
};
