// The five phrases by which the ear is fitted to a voice: sentences of the work itself. Between them are sixteen of the words that
// have several pronunciations, and nine of the ten digits, for figures are what is misheard first.

export const FIT_PHRASES = [
  'exhaust four thirty thou drag okay',
  'cylinder three on the mark',
  'intake five zero point one niner millimetres',
  'forty two fasteners',
  'intake six twenty seven thou',
] as const;
