// Cautions and checks that belong to every engine, as data. A sheet adds its own. The maker's manual, local rules and
// licensed persons always come first.

/** Order after 29 CFR 1910.147(d): prepare, shut down, isolate, lock and tag, release stored energy, verify. */
export const CAUTIONS: readonly string[] = [
  "The maker's manual and the local rules come first. Stop if they disagree with what you hear.",
  'Make ready. Tell everyone near that the engine is out of use, and know how it is shut down.',
  'Shut the engine down.',
  'Isolate starting, ignition and fuel, so that it cannot fire or crank.',
  'Put your own lock and tag on each isolation.',
  'Release what is stored: air pressure, springs, pressure in the fuel line, charge in the coils.',
  'Try to start it, to prove that it is dead. Put the switch back to off.',
  'Whatever the crank drives is treated as live whenever the crank is turned. Keep clear of it.',
  'Wear eye protection. Mind hot parts, and oil on the floor.',
];

/** So many of them come before what the sheet adds. */
export const ISOLATED = 4;

/** Confirmed one by one before the engine runs; the last after 29 CFR 1910.147(e). */
export const RUN_CHECKS: readonly string[] = [
  'All towels are out, and the turning tool is off.',
  'Leads, hoses and guards are refitted.',
  'Everybody is clear of the engine and of what it drives.',
  'The isolation has been released by the person who set it.',
];
