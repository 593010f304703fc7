/* oxlint-disable typescript/no-unnecessary-type-assertion -- <usize> is a conversion in AssemblyScript, not an assertion */
// Everything lies in one memory that the caller lays out; every argument named after an array is its address.

/** Farther than any row or column. */
export const FAR: i32 = 1 << 28;

export function get(array: i32, i: i32): i32 {
  return load<i32>(<usize>(array + (i << 2)));
}

export function put(array: i32, i: i32, value: i32): void {
  store<i32>(<usize>(array + (i << 2)), value);
}

export function getFloat(array: i32, i: i32): f64 {
  return load<f64>(<usize>(array + (i << 3)));
}

export function putFloat(array: i32, i: i32, value: f64): void {
  store<f64>(<usize>(array + (i << 3)), value);
}
