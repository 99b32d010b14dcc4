// The finished job on one sheet of paper: who signed, every valve with its figures, and what was found on the way.

import type { ValveRecord } from '../procedure/book.ts';
import { type Book, FASTENERS, inOrder, insideLimits, overdue, timesSetAgain } from '../procedure/book.ts';
import { Practice } from './practice.tsx';
import type { View } from './view.ts';
import { dayWords, figure, limitsWords, STATE_WORDS, stateOf, timeWords, valveWords } from './words.ts';

export function Done({ view, book }: { view: View; book: Book }) {
  const { sheet, findings, kept } = book;
  const superseded = kept.filter((entry) => entry.superseded).length;
  const late = overdue(book);
  return (
    <>
      <main class="record">
        <header>
          <h1>Valve clearances</h1>
          <p>
            {sheet.title} {sheet.invented && <Practice />}
          </p>
          <p class="source">Figures from: {sheet.source}</p>
        </header>
        <Signature book={book} />
        <section aria-labelledby="valves-title">
          <h2 id="valves-title">Valves, in {sheet.clearance.intake.wanted.unit}</h2>
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
          <section class="tableFrame" aria-label="Table of valves" tabIndex={0}>
            <table>
              <thead>
                <tr>
                  {['Valve', 'Limits', 'Found', 'Set', 'After torque', 'Left', 'State', 'Set again'].map(
                    (name) => (
                      <th key={name} scope="col">
                        {name}
                      </th>
                    ),
                  )}
                </tr>
              </thead>
              <tbody>
                {inOrder(book).map((record) => (
                  <Row key={record.id} book={book} record={record} />
                ))}
              </tbody>
            </table>
          </section>
        </section>
        <div class="columns">
          <section aria-labelledby="findings-title">
            <h2>As found</h2>
            <p>{surveyWords(book)}</p>
            <h2 id="findings-title">Findings</h2>
            {findings.length === 0 ? (
              <p>None.</p>
            ) : (
              <ul>
                {findings.map((finding, k) => (
                  <li key={k}>{finding}</li>
                ))}
              </ul>
            )}
            <h2>Entries</h2>
            <p>
              {kept.length} entries, {superseded} of them superseded. The record holds them all.
            </p>
          </section>
          <section aria-labelledby="instruments-title">
            <h2 id="instruments-title">Instruments</h2>
            <ul>
              {book.instruments.map((instrument) => (
                <li key={instrument.what}>
                  {instrument.what} {instrument.id}, calibration due {instrument.due}
                  {late.includes(instrument) && <strong> (overdue)</strong>}
                </li>
              ))}
            </ul>
            <h2>Counted in and out</h2>
            <ul>
              {book.tally.map(({ what, in: into, out }) => (
                <li key={what}>
                  {what}: {into} {what === FASTENERS ? 'off' : 'in'}
                  {out !== null && `, ${out} ${what === FASTENERS ? 'on' : 'out'}`}
                </li>
              ))}
            </ul>
          </section>
          <section aria-labelledby="people-title">
            <h2 id="people-title">People</h2>
            <ul>
              <li>
                Mechanic: {book.mechanic}
                {book.fit && `, ear fitted to this voice on ${dayWords(book.fit.at)}`}
              </li>
              <li>Inspector: {book.inspector ?? 'none'}</li>
            </ul>
            <p class="caveat">Not a replacement for the maker's manual.</p>
          </section>
        </div>
      </main>
      <nav class="afterwards" aria-label="What to do with the record">
        <button type="button" class="main" onClick={() => view.intents.download()}>
          Save record
        </button>
        <button type="button" onClick={() => view.intents.print()}>
          Print
        </button>
        <button type="button" onClick={() => view.intents.again()}>
          New session
        </button>
      </nav>
    </>
  );
}

function surveyWords(book: Book): string {
  if (!book.surveyed) return 'Not taken.';
  const all = inOrder(book);
  const measured = all.filter(({ found }) => found !== null).length;
  return `${measured === all.length ? 'Every valve was' : `${measured} of ${all.length} valves were`} measured before anything was loosened.`;
}

function Signature({ book }: { book: Book }) {
  const when = (type: 'signed' | 'inspected') => {
    const entry = book.kept.findLast((kept) => kept.entry.type === type && !kept.superseded);
    return entry ? timeWords(entry.at, true) : '';
  };
  if (book.signedBy === null) return <p class="signature bad">✗ Not signed.</p>;
  return (
    <p class="signature good">
      ✓ Signed by <strong>{book.signedBy}</strong>, {when('signed')}.{' '}
      {book.inspectedBy && (
        <>
          Inspected by <strong>{book.inspectedBy}</strong>, {when('inspected')}.
        </>
      )}
      {book.sheet.inspection && !book.inspectedBy && 'Not inspected.'}
    </p>
  );
}

function Row({ book, record }: { book: Book; record: ValveRecord }) {
  const { valve, found, set, torqued, left, skipped } = record;
  const limits = book.sheet.clearance[valve.side];
  const foundOutside = found !== null && !insideLimits(book, record, found);
  return (
    <tr>
      <th scope="row">{valveWords(valve)}</th>
      <td>{limitsWords(limits)}</td>
      <td>
        {found ? figure(found) : '–'}
        {foundOutside && <span class="outside"> outside</span>}
      </td>
      <td>{set ? figure(set) : '–'}</td>
      <td>{torqued ? figure(torqued) : '–'}</td>
      <td>
        <strong>{left === null ? '–' : left === 'go and no-go' ? left : figure(left)}</strong>
      </td>
      <td>{skipped ? `left out: ${skipped}` : STATE_WORDS[stateOf(record)]}</td>
      <td>{timesSetAgain(record) > 0 ? `${timesSetAgain(record)} ×` : '–'}</td>
    </tr>
  );
}
