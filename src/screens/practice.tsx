// Practice data must never pass for a maker's figures.

/** Said wherever practice data is used: a word in a shape of its own. */
export function Practice() {
  return <span class="practice">Invented · practice data</span>;
}
