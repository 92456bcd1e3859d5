/** Runs the `fettle` command with the given arguments; gives the exit code. */
export async function main(_args: readonly string[]): Promise<number> {
  return 2;
}
