// The procedure, step by step, as a pure machine: entries in, book out. No clock, no chance, no storage, no sound.
// It reads from cautions to signature as the work is done; what each step says is in phrases.
import { and, assign, raise, setup } from 'xstate';
import type { Clearance } from '../trade/units.ts';
import { degrees } from '../trade/units.ts';
import {
  type Book,
  type Counted,
  cautionsOf,
  change,
  checks,
  dueStation,
  dueValve,
  enter,
  FASTENERS,
  fastenersDiffer,
  goneBack,
  inOrder,
  insideLimits,
  isCompareDue,
  isRoundFinished,
  isSigned,
  itemDue,
  itemsFor,
  itemsOut,
  leadsBackTo,
  mayBring,
  needsCrank,
  nextPlace,
  nextStation,
  noteLoosened,
  type Opening,
  openBook,
  type Phase,
  type Refusal,
  startRound,
  TURNING_TOOL,
  toLoosen,
  valveAtPlace,
  voidMarks,
  whyAsk,
  wrongPlace,
} from './book.ts';
import type { Doubted, Entry, Said } from './entry.ts';
import { STEPS, type StepName } from './steps.ts';

type Event = Said | Doubted;

const base = setup({
  types: { context: {} as Book, events: {} as Event, input: {} as Opening },
  actions: {
    // Every entry that is taken first keeps the facts as they stood.
    enter: assign(({ context, event }) => enter(context, event as Said)),
    ask: assign(({ context, event }) => asked(context, event)),
    refuse: assign(({ context, event }, why: Refusal | undefined) => ({
      reply: { kind: 'refused' as const, ...(why ?? refusal(context, event as Said)) },
      pending: null,
    })),
    say: assign(
      (_, params: { kind: 'withdrawn' | 'again' | 'stopped' | 'standingBy' | 'carryingOn' | 'lost' }) => ({
        reply: { kind: params.kind },
      }),
    ),
    drop: assign({ pending: null }),
    answer: raise(({ context }) => ({ ...context.pending!, confirmed: true })),
    sayAnew: raise(({ event }) => event),
    askCrank: assign(({ context }) => (context.crankDoubt === 'none' ? { crankDoubt: 'ask' as const } : {})),
    doubtCrank: assign({ crankDoubt: 'lost' }),
    trustCrank: assign({ crankDoubt: 'none' }),
    correct: assign(({ context }) => goneBack(context, 1, 'corrected')),
    threeBack: assign(({ context }) => goneBack(context, 3, 'wentBack')),
    arrive: assign(({ context }, params: { step: StepName }) => ({
      step: params.step,
      nth: context.step === params.step ? context.nth : 0,
    })),

    next: assign(({ context }) => ({ nth: context.nth + 1 })),
    countIn: assign(({ context, event }, params: { what: string } | undefined) => ({
      tally: withItem(context, { what: params?.what ?? itemDue(context)!, in: numberOf(event), out: null }),
    })),
    countOut: assign(({ context, event }) => ({
      tally: context.tally.map((item) =>
        item === itemsOut(context)[context.nth] ? { ...item, out: numberOf(event) } : item,
      ),
    })),
    bringIn: assign(({ context, event }) => ({ tally: withMore(context, event) })),
    startFasteners: assign(({ context, event }) => ({
      tally: context.tally.map((item) =>
        item.what === FASTENERS ? { ...item, out: numberOf(event) } : item,
      ),
    })),
    noteGasket: assign(({ event }) =>
      event.type === 'gasket' && isLook(event.is) ? { gasketFound: event.is } : {},
    ),
    fitGasket: assign(({ event }) =>
      event.type === 'gasket' && !isLook(event.is) ? { gasketFitted: event.is } : {},
    ),

    atReference: assign({ crank: degrees(0), crankDoubt: 'none' }),
    atStation: assign(({ context }) => ({ crank: dueStation(context).at })),
    loseCrank: assign({ crank: null, crankDoubt: 'none' }),
    leadBackTo: assign((_, params: { to: Book['referenceFor'] }) => ({ referenceFor: params.to })),
    leadBackHere: assign(({ context }) => ({ referenceFor: leadsBackTo(context) })),
    find: assign(({ context }, params: { what: string }) => ({
      findings: [...context.findings, params.what],
    })),

    survey: assign(({ context }) => startRound({ ...context, surveyed: true }, 'found')),
    noSurvey: assign({ surveyed: false, toSet: 'all' }),
    chooseAll: assign({ toSet: 'all' }),
    chooseOutside: assign({ toSet: 'outside' }),
    setRound: assign(({ context }) => startRound(context, 'setting')),
    proofRound: assign(({ context }) => startRound(context, 'proof')),
    nextPlace: assign(({ context }) => nextPlace(context)),
    nextStation: assign(({ context }) => nextStation(context)),

    skip: assign(({ context, event }) =>
      event.type === 'skip' ? change(context, () => ({ skipped: event.reason })) : context,
    ),
    reading: assign(({ context, event }, params: { as: 'found' | 'set' | 'torqued' | 'left' }) =>
      change(context, () => ({ [params.as]: readingOf(context, event) })),
    ),
    passed: assign(({ context }) => change(context, () => ({ left: 'go and no-go' }))),
    dropBlade: assign({ blade: null }),
    keepBlade: assign(({ context, event }) => ({ blade: readingOf(context, event) })),
    phase: assign(({ context }, params: { is: Phase }) => change(context, () => ({ phase: params.is }))),
    loosened: assign(({ context }) => noteLoosened(context)),
    // Whatever is torqued in the proof round has two turns and a proof of its own.
    locked: assign(({ context }) =>
      change(context, () => ({ phase: 'torqued', locked: true, ownProof: context.round === 'proof' })),
    ),
    fail: assign(({ context }) => ({
      ...change(context, () => ({ phase: 'failed', left: null })),
      comparedAt: null,
    })),
    compared: assign(({ context }) => ({ comparedAt: context.station })),
    voidMarks: assign(({ context }) => voidMarks(context)),

    sign: assign(({ event }) => ({ signedBy: (event as Said).who })),
    inspect: assign(({ event }) => ({ inspectedBy: (event as Said).who })),
  },
  guards: {
    misplaced: ({ context, event }) => wrongPlace(context, event as Entry) !== null,
    askFirst: ({ context, event }) => whyAsk(context, event as Said).length > 0,
    step: ({ context }, params: { is: StepName }) => context.step === params.is,
    moreCautions: ({ context }) => context.nth + 1 < cautionsOf(context).length,
    moreChecks: ({ context }) => context.nth + 1 < checks.length,
    morePasses: ({ context }) => context.nth + 1 < context.sheet.cover.passes.length,
    moreIn: ({ context }, params: { when: 'start' | 'towels' }) =>
      context.nth + 1 < itemsFor(context, params.when).length,
    moreOut: ({ context }) => context.nth + 1 < itemsOut(context).length,
    noTools: ({ context }) => itemsFor(context, 'start').length === 0,
    some: ({ event }) => numberOf(event) > 0,
    none: ({ event }) => numberOf(event) === 0,
    allOut: ({ context, event }) => itemsOut(context)[context.nth]?.in === numberOf(event),
    mayBring: ({ context, event }) => mayBring(context) && moreOf(context, event) !== undefined,
    fastenersDiffer: ({ context }) => fastenersDiffer(context),
    allStarted: ({ context, event }) => numberOf(event) === context.sheet.cover.fasteners,

    looked: ({ event }) => event.type === 'gasket' && isLook(event.is),
    fits: ({ context, event }) =>
      event.type === 'gasket' &&
      (event.is === 'new' ||
        (event.is === 'old' && context.sheet.gasket.always !== 'new' && context.gasketFound === 'good')),
    needsSealant: ({ context }) => context.sheet.sealant !== null,

    allPlay: ({ event }) => event.type === 'rocked' && event.play === 'all',
    noPlay: ({ event }) => event.type === 'rocked' && event.play === 'none',
    noPlayAgain: ({ context, event }) =>
      event.type === 'rocked' && event.play === 'none' && hadNoPlay(context),
    resting: ({ event }) => event.type === 'watched' && event.valves === 'resting',
    anyLoosened: ({ context }) => inOrder(context).some((record) => record.everLoosened),
    leadsTo: ({ context }, params: { step: Book['referenceFor'] }) => context.referenceFor === params.step,
    mustSurvey: ({ context }) => context.sheet.survey === 'always',
    noChoice: ({ context }) => context.sheet.set !== 'ask' || context.toSet !== null,
    sheetSaysOutside: ({ context }) => context.sheet.set === 'outside' && context.toSet === null,
    all: ({ event }) => event.type === 'choose' && event.set === 'all',

    atStation: ({ context }) => context.crank === dueStation(context).at,
    finished: ({ context }) => isRoundFinished(context),
    stationDone: ({ context }) => context.place === null,
    round: ({ context }, params: { is: Book['round'] }) => context.round === params.is,
    compareDue: ({ context }) => isCompareDue(context),
    compareInProof: ({ context }) => context.round === 'proof' && isCompareDue(context),
    nothingToLoosen: ({ context }) => toLoosen(context).length === 0,
    neverLoosened: ({ context }) => dueValve(context)?.everLoosened === false,
    phases: ({ context }, params: { are: readonly Phase[] }) =>
      params.are.includes(valveAtPlace(context)!.phase),
    ownProof: ({ context }) => valveAtPlace(context)!.ownProof,

    hasReading: ({ context, event }) => isClean(event) && readingOf(context, event) !== null,
    inLimits: ({ context, event }) => {
      const reading = isClean(event) ? readingOf(context, event) : null;
      const due = dueValve(context);
      return reading !== null && due !== null && insideLimits(context, due, reading);
    },
    lightDrag: ({ event }) => event.type === 'gauged' && event.feel === 'light',
    pass: ({ event }) => event.type === 'proofed' && event.verdict === 'pass',
    hasPlay: ({ event }) => event.type === 'play' && event.has,
    leakFound: ({ event }) => event.type === 'leak' && event.found,
    needsInspection: ({ context }) => context.sheet.inspection,
    otherPerson: ({ context, event }) =>
      (event as Said).who !== context.signedBy && (event as Said).who === context.inspector,

    canCorrect: ({ context }) => context.correctable && context.past.length > 0 && !isSigned(context),
    canGoBack: ({ context }) => context.past.length > 0 && !isSigned(context),
    crankSure: ({ context }) => context.crankDoubt === 'none' || !needsCrank(context),
    crankLost: ({ context }) => context.crankDoubt === 'lost',
    needsCrank: ({ context }) => needsCrank(context),
  },
});

type States = NonNullable<Parameters<typeof base.createMachine>[0]['states']>;

/** Gives each step the entry that notes its name in the book, and adds the way back to the step so noted. */
function steps(states: States): States {
  const named: States = {};
  for (const [name, state] of Object.entries(states)) {
    const isStep = (STEPS as readonly string[]).includes(name);
    named[name] = isStep
      ? { ...state, entry: { type: 'arrive', params: { step: name as StepName } } }
      : state;
  }
  const ways = STEPS.map((step) => ({
    guard: { type: 'step' as const, params: { is: step } },
    target: step,
  }));
  return { ...named, resume: { always: ways } };
}

// Shorthand: what stands before nearly every entry that carries a value, and what follows a valve that fails.
const askFirst = { guard: 'askFirst', target: '#asking', actions: 'ask' } as const;
const misplaced = { guard: 'misplaced', actions: 'refuse' } as const;
const noneCounted = { guard: 'none', actions: 'refuse' } as const;
const toLoosenAgain = { target: 'loosenAgain', actions: ['enter', 'fail'] } as const;
const atTheMark = {
  on: {
    markSeen: [
      misplaced,
      { guard: 'anyLoosened', target: 'referenceWatch', actions: 'enter' },
      { target: 'referencePlay', actions: 'enter' },
    ],
    overshot: { actions: 'enter' },
  },
} as const;
const lostReference = {
  target: 'work.referenceTurn',
  actions: ['leadBackHere', 'loseCrank', { type: 'say', params: { kind: 'lost' } }],
} as const;

export const procedure = base.createMachine({
  id: 'procedure',
  context: ({ input }) => openBook(input),
  initial: 'work',
  states: {
    work: {
      initial: 'identify',
      on: {
        sayAgain: { actions: { type: 'say', params: { kind: 'again' } } },
        stop: { target: '#stopped', actions: ['doubtCrank', { type: 'say', params: { kind: 'stopped' } }] },
        standBy: {
          target: '#standBy',
          actions: ['askCrank', { type: 'say', params: { kind: 'standingBy' } }],
        },
        correction: [
          { guard: 'canCorrect', target: '.resume', actions: 'correct' },
          { actions: { type: 'refuse', params: { why: 'nothing to correct' } } },
        ],
        goBack: [
          { guard: 'canGoBack', target: '.resume', actions: 'threeBack' },
          { actions: { type: 'refuse', params: { why: 'nothing to correct' } } },
        ],
        lost: [
          {
            guard: 'needsCrank',
            target: '.referenceTurn',
            actions: ['enter', 'leadBackHere', 'loseCrank', { type: 'say', params: { kind: 'lost' } }],
          },
          { actions: 'refuse' },
        ],
        brought: [{ guard: 'mayBring', actions: ['enter', 'bringIn'] }, { actions: 'refuse' }],
        doubted: { target: '#asking', actions: 'ask' },
        '*': { actions: 'refuse' },
      },
      states: steps({
        // Before work
        identify: {
          on: { affirm: { target: 'cautions', actions: 'enter' } },
        },
        cautions: {
          on: {
            done: [
              { guard: 'moreCautions', actions: ['enter', 'next'] },
              { target: 'condition', actions: 'enter' },
            ],
          },
        },
        condition: {
          on: { affirm: { target: 'instruments', actions: 'enter' } },
        },
        instruments: {
          on: { affirm: [askFirst, { target: 'countIn', actions: 'enter' }] },
        },
        countIn: {
          always: { guard: 'noTools', target: 'clearAway' },
          on: {
            counted: [
              noneCounted,
              { guard: { type: 'moreIn', params: { when: 'start' } }, actions: ['enter', 'countIn', 'next'] },
              { target: 'clearAway', actions: ['enter', 'countIn'] },
            ],
          },
        },

        // Clear the way, cover off
        clearAway: {
          on: { done: { target: 'packTowels', actions: 'enter' } },
        },
        packTowels: {
          on: {
            counted: [
              noneCounted,
              {
                guard: { type: 'moreIn', params: { when: 'towels' } },
                actions: ['enter', 'countIn', 'next'],
              },
              { target: 'coverOff', actions: ['enter', 'countIn'] },
            ],
          },
        },
        coverOff: {
          on: {
            counted: [
              askFirst,
              {
                guard: 'some',
                target: 'gasketLook',
                actions: ['enter', { type: 'countIn', params: { what: FASTENERS } }],
              },
            ],
          },
        },
        gasketLook: {
          on: { gasket: { guard: 'looked', target: 'turningTool', actions: ['enter', 'noteGasket'] } },
        },

        // Reference position; the stroke is judged by play only while nothing is loosened
        turningTool: {
          on: {
            counted: {
              guard: 'some',
              target: 'referenceTurn',
              actions: ['enter', { type: 'countIn', params: { what: TURNING_TOOL } }],
            },
          },
        },
        referenceTurn: atTheMark,
        referencePlay: {
          on: {
            rocked: [
              { guard: 'allPlay', target: 'referenceFound', actions: ['enter', 'atReference'] },
              {
                guard: 'noPlayAgain',
                target: 'referenceWatch',
                actions: [
                  'enter',
                  { type: 'find', params: { what: 'no play at either dead centre of the reference' } },
                ],
              },
              { guard: 'noPlay', target: 'referenceOn', actions: 'enter' },
              {
                target: 'referenceWatch',
                actions: ['enter', { type: 'find', params: { what: 'closed-up valve at the reference' } }],
              },
            ],
          },
        },
        referenceOn: atTheMark,
        referenceWatch: {
          on: {
            watched: [
              { guard: 'resting', target: 'referenceFound', actions: ['enter', 'atReference'] },
              { target: 'referenceOn', actions: 'enter' },
            ],
          },
        },
        referenceFound: {
          always: [
            { guard: { type: 'leadsTo', params: { step: 'surveyChoice' } }, target: 'surveyChoice' },
            { guard: { type: 'leadsTo', params: { step: 'choice' } }, target: 'choice' },
            { guard: { type: 'leadsTo', params: { step: 'loosen' } }, target: 'loosen' },
            { guard: { type: 'leadsTo', params: { step: 'proofTurns' } }, target: 'proofTurns' },
            {
              guard: { type: 'leadsTo', params: { step: 'proof' } },
              target: 'toStation',
              actions: 'proofRound',
            },
            { target: 'toStation' },
          ],
        },

        // As found
        surveyChoice: {
          always: { guard: 'mustSurvey', target: 'toStation', actions: 'survey' },
          on: {
            affirm: { target: 'toStation', actions: ['enter', 'survey'] },
            negative: { target: 'loosen', actions: ['enter', 'noSurvey'] },
          },
        },
        gauge: {
          on: {
            gauged: [
              misplaced,
              askFirst,
              {
                guard: 'hasReading',
                target: 'valveDue',
                actions: ['enter', { type: 'reading', params: { as: 'found' } }, 'nextPlace'],
              },
            ],
            skip: [
              misplaced,
              { guard: 'neverLoosened', target: 'valveDue', actions: ['enter', 'skip', 'nextPlace'] },
            ],
          },
        },
        choice: {
          always: [
            { guard: 'sheetSaysOutside', target: 'loosen', actions: 'chooseOutside' },
            { guard: 'noChoice', target: 'loosen', actions: 'chooseAll' },
          ],
          on: {
            choose: [
              { guard: 'all', target: 'loosen', actions: ['enter', 'chooseAll'] },
              { target: 'loosen', actions: ['enter', 'chooseOutside'] },
            ],
          },
        },

        // To the next station, to the next valve: the plan is data, so these two are passed at once
        toStation: {
          always: [
            { guard: 'finished', target: 'roundDone' },
            { guard: 'atStation', target: 'valveDue' },
            { target: 'turn' },
          ],
        },
        turn: {
          on: {
            markSeen: [misplaced, { target: 'valveDue', actions: ['enter', 'atStation'] }],
            overshot: { actions: 'enter' },
          },
        },
        valveDue: {
          always: [
            { guard: and(['stationDone', 'compareDue']), target: 'compare' },
            { guard: 'stationDone', target: 'toStation', actions: 'nextStation' },
            { guard: { type: 'round', params: { is: 'found' } }, target: 'gauge' },
            { guard: { type: 'phases', params: { are: ['failed'] } }, target: 'loosenAgain' },
            { guard: { type: 'phases', params: { are: ['loosened', 'set', 'nipped'] } }, target: 'setDrag' },
            { guard: { type: 'phases', params: { are: ['torqued', 'gauged'] } }, target: 'gaugeAgain' },
            { guard: { type: 'phases', params: { are: ['marked'] } }, target: 'playCheck' },
            { guard: 'ownProof', target: 'proofAgain' },
            { target: 'proof' },
          ],
        },
        roundDone: {
          always: [
            {
              guard: { type: 'round', params: { is: 'found' } },
              target: 'referenceTurn',
              actions: { type: 'leadBackTo', params: { to: 'choice' } },
            },
            { guard: { type: 'round', params: { is: 'setting' } }, target: 'proofTurns' },
            { target: 'countOut' },
          ],
        },

        // Loosen the chosen ones
        loosen: {
          always: {
            guard: 'nothingToLoosen',
            target: 'toStation',
            actions: 'setRound',
          },
          on: {
            loosened: [misplaced, { target: 'loosen', reenter: true, actions: ['enter', 'loosened'] }],
            skip: [
              misplaced,
              { guard: 'neverLoosened', target: 'loosen', reenter: true, actions: ['enter', 'skip'] },
            ],
          },
        },

        // Setting, valve by valve
        setDrag: {
          on: {
            gauged: [
              misplaced,
              askFirst,
              {
                guard: and(['inLimits', 'lightDrag']),
                target: 'nip',
                actions: [
                  'enter',
                  { type: 'reading', params: { as: 'set' } },
                  { type: 'phase', params: { is: 'set' } },
                  'dropBlade',
                ],
              },
              { guard: 'inLimits', actions: ['enter', 'keepBlade'] },
            ],
          },
        },
        nip: {
          on: {
            nipped: [
              misplaced,
              { target: 'torque', actions: ['enter', { type: 'phase', params: { is: 'nipped' } }] },
            ],
            dragChanged: [
              misplaced,
              { target: 'setDrag', actions: ['enter', { type: 'phase', params: { is: 'loosened' } }] },
            ],
          },
        },
        torque: {
          on: { torqued: [misplaced, { target: 'gaugeAgain', actions: ['enter', 'locked'] }] },
        },
        gaugeAgain: {
          on: {
            gauged: [
              misplaced,
              askFirst,
              {
                guard: 'inLimits',
                target: 'paint',
                actions: [
                  'enter',
                  { type: 'reading', params: { as: 'torqued' } },
                  { type: 'phase', params: { is: 'gauged' } },
                ],
              },
              {
                guard: 'hasReading',
                target: 'loosenAgain',
                actions: ['enter', { type: 'reading', params: { as: 'torqued' } }, 'fail'],
              },
            ],
          },
        },
        loosenAgain: {
          on: { loosened: [misplaced, { target: 'setDrag', actions: ['enter', 'loosened'] }] },
        },
        paint: {
          on: {
            marked: [
              misplaced,
              { target: 'playCheck', actions: ['enter', { type: 'phase', params: { is: 'marked' } }] },
            ],
          },
        },
        playCheck: {
          on: {
            play: [
              misplaced,
              askFirst,
              {
                guard: 'hasPlay',
                target: 'played',
                actions: ['enter', { type: 'phase', params: { is: 'played' } }],
              },
              toLoosenAgain,
            ],
          },
        },
        played: {
          always: [
            { guard: 'compareInProof', target: 'compare' },
            { guard: { type: 'round', params: { is: 'proof' } }, target: 'valveDue' },
            { target: 'valveDue', actions: 'nextPlace' },
          ],
        },
        compare: {
          on: {
            affirm: { target: 'valveDue', actions: ['enter', 'compared'] },
            negative: {
              target: 'valveDue',
              actions: ['enter', { type: 'find', params: { what: 'play did not compare' } }, 'voidMarks'],
            },
          },
        },

        // Proof
        proofTurns: {
          on: {
            markSeen: [
              misplaced,
              {
                target: 'referenceWatch',
                actions: ['enter', { type: 'leadBackTo', params: { to: 'proof' } }],
              },
            ],
            overshot: { actions: 'enter' },
          },
        },
        proofAgain: {
          on: {
            markSeen: [misplaced, { target: 'proof', actions: 'enter' }],
            overshot: { actions: 'enter' },
          },
        },
        proof: {
          on: {
            proofed: [
              misplaced,
              askFirst,
              {
                guard: 'pass',
                target: 'valveDue',
                actions: ['enter', 'passed', { type: 'phase', params: { is: 'proved' } }, 'nextPlace'],
              },
              toLoosenAgain,
            ],
            gauged: [
              misplaced,
              askFirst,
              {
                guard: 'inLimits',
                target: 'valveDue',
                actions: [
                  'enter',
                  { type: 'reading', params: { as: 'left' } },
                  { type: 'phase', params: { is: 'proved' } },
                  'nextPlace',
                ],
              },
              { guard: 'hasReading', ...toLoosenAgain },
            ],
            skip: [
              misplaced,
              { guard: 'neverLoosened', target: 'valveDue', actions: ['enter', 'skip', 'nextPlace'] },
            ],
          },
        },

        // Count out and close
        countOut: {
          on: {
            counted: [
              { guard: and(['allOut', 'moreOut']), actions: ['enter', 'countOut', 'next'] },
              { guard: 'allOut', target: 'gasketFit', actions: ['enter', 'countOut'] },
            ],
          },
        },
        gasketFit: {
          on: {
            gasket: [
              { guard: and(['fits', 'needsSealant']), target: 'sealant', actions: ['enter', 'fitGasket'] },
              { guard: 'fits', target: 'handStart', actions: ['enter', 'fitGasket'] },
            ],
          },
        },
        sealant: {
          on: { done: { target: 'handStart', actions: 'enter' } },
        },
        handStart: {
          on: {
            counted: [
              { guard: and(['allStarted', 'askFirst']), target: '#asking', actions: 'ask' },
              {
                guard: and(['allStarted', 'fastenersDiffer']),
                target: 'tighten',
                actions: [
                  'enter',
                  'startFasteners',
                  { type: 'find', params: { what: 'not as many fasteners on as came off' } },
                ],
              },
              { guard: 'allStarted', target: 'tighten', actions: ['enter', 'startFasteners'] },
            ],
          },
        },
        tighten: {
          on: {
            done: [
              { guard: 'morePasses', actions: ['enter', 'next'] },
              { target: 'runChecks', actions: 'enter' },
            ],
          },
        },

        // Before it runs, and the run
        runChecks: {
          on: {
            affirm: [
              { guard: 'moreChecks', actions: ['enter', 'next'] },
              { target: 'leakRun', actions: 'enter' },
            ],
          },
        },
        leakRun: {
          on: {
            leak: [
              {
                guard: 'leakFound',
                target: 'leakStop',
                actions: ['enter', { type: 'find', params: { what: 'leak on the first run' } }],
              },
              { target: 'sign', actions: 'enter' },
            ],
          },
        },
        leakStop: {
          on: { done: { target: 'tighten', actions: 'enter' } },
        },
        sign: {
          on: {
            signed: [
              { guard: 'needsInspection', target: 'inspect', actions: ['enter', 'sign'] },
              { target: 'closed', actions: ['enter', 'sign'] },
            ],
          },
        },
        inspect: {
          on: {
            inspected: [
              { guard: and(['otherPerson', 'askFirst']), target: '#asking', actions: 'ask' },
              { guard: 'otherPerson', target: 'closed', actions: ['enter', 'inspect'] },
            ],
          },
        },
        closed: {},
      }),
    },

    // A question stands: only a yes enters what was heard
    asking: {
      id: 'asking',
      on: {
        affirm: { target: 'work.resume', actions: ['answer', 'drop'] },
        negative: {
          target: 'work.resume',
          actions: ['drop', { type: 'say', params: { kind: 'withdrawn' } }],
        },
        correction: {
          target: 'work.resume',
          actions: ['drop', { type: 'say', params: { kind: 'withdrawn' } }],
        },
        sayAgain: {},
        carryOn: {},
        stop: {
          target: '#stopped',
          actions: ['drop', 'doubtCrank', { type: 'say', params: { kind: 'stopped' } }],
        },
        standBy: {
          target: '#standBy',
          actions: ['drop', 'askCrank', { type: 'say', params: { kind: 'standingBy' } }],
        },
        doubted: { actions: 'ask' },
        '*': { target: 'work.resume', actions: ['drop', 'sayAnew'] },
      },
    },

    // Interruptions: going back three steps is offered after each. After a stop the reference is set up again; after a
    // stand-by somebody says whether the crank stayed
    standBy: {
      id: 'standBy',
      on: {
        carryOn: { target: 'offer', actions: { type: 'say', params: { kind: 'carryingOn' } } },
        stop: { target: 'stopped', actions: ['doubtCrank', { type: 'say', params: { kind: 'stopped' } }] },
        '*': { actions: { type: 'refuse', params: { why: 'paused' } } },
      },
    },
    stopped: {
      id: 'stopped',
      on: {
        carryOn: { target: 'offer', actions: { type: 'say', params: { kind: 'carryingOn' } } },
        '*': { actions: { type: 'refuse', params: { why: 'paused' } } },
      },
    },
    offer: {
      on: {
        affirm: [{ guard: 'canGoBack', target: 'still', actions: 'threeBack' }, { target: 'still' }],
        negative: 'still',
        sayAgain: { actions: { type: 'say', params: { kind: 'again' } } },
        stop: { target: 'stopped', actions: ['doubtCrank', { type: 'say', params: { kind: 'stopped' } }] },
        standBy: { target: 'standBy', actions: { type: 'say', params: { kind: 'standingBy' } } },
        '*': { actions: 'refuse' },
      },
    },
    still: {
      always: [
        { guard: 'crankSure', target: 'work.resume', actions: 'trustCrank' },
        { guard: 'crankLost', ...lostReference },
      ],
      on: {
        affirm: {
          target: 'work.resume',
          actions: ['trustCrank', { type: 'say', params: { kind: 'carryingOn' } }],
        },
        negative: lostReference,
        sayAgain: { actions: { type: 'say', params: { kind: 'again' } } },
        stop: { target: 'stopped', actions: ['doubtCrank', { type: 'say', params: { kind: 'stopped' } }] },
        standBy: { target: 'standBy', actions: { type: 'say', params: { kind: 'standingBy' } } },
        '*': { actions: 'refuse' },
      },
    },
  },
});

// What an entry carries, and why it is refused

function numberOf(event: Event): number {
  return event.type === 'counted' ? event.number : 0;
}

/** Counting a thing in again takes the place of the first count. */
function withItem(book: Book, item: Counted): Counted[] {
  return [...book.tally.filter((other) => other.what !== item.what), item];
}

/** What a "bring in" is added to; undefined where nothing of that name was counted in. */
function moreOf(book: Book, event: Event): Counted | undefined {
  if (event.type !== 'brought' || event.number === 0) return undefined;
  return itemsOut(book).find((item) => item.what === event.what || event.what === null);
}

function withMore(book: Book, event: Event): Counted[] {
  const more = moreOf(book, event);
  return book.tally.map((item) => (item === more ? { ...item, in: item.in + broughtBy(event) } : item));
}
const broughtBy = (event: Event) => (event.type === 'brought' ? event.number : 0);

/** The rockers had no play one full turn before as well: the play cannot tell the stroke. */
function hadNoPlay(book: Book): boolean {
  const rocked = book.kept.filter((kept) => kept.entry.type === 'rocked' && !kept.superseded).at(-1);
  const since = rocked ? book.kept.slice(book.kept.indexOf(rocked) + 1) : [];
  const isTurnedOn = since.every((kept) => kept.step === 'referenceOn');
  return rocked?.entry.type === 'rocked' && rocked.entry.play === 'none' && isTurnedOn;
}

function isLook(is: string): is is 'good' | 'damaged' {
  return is === 'good' || is === 'damaged';
}

/** A reading counts only where the drag was light or not named; the blade named before serves for a drag alone. */
function isClean(event: Event): boolean {
  return event.type === 'gauged' && (event.feel === null || event.feel === 'light');
}

function readingOf(book: Book, event: Event): Clearance | null {
  if (event.type !== 'gauged') return null;
  return event.reading ?? (book.step === 'setDrag' ? book.blade : null);
}

function asked(book: Book, event: Event): Partial<Book> {
  const doubted = event.type === 'doubted';
  const { seq, at, who } = event;
  const said = doubted ? ({ ...event.entry, seq, at, who } as Said) : event;
  const { confirmed: _, seq: _s, at: _a, who: _w, ...entry } = said;
  const reasons = whyAsk(book, said);
  return {
    pending: said,
    reply: {
      kind: 'asked',
      entry: entry as Entry,
      why: reasons.length > 0 ? reasons : ['doubted'],
      valve: dueValve(book)?.id ?? null,
    },
  };
}

function refusal(book: Book, said: Said): Refusal {
  const place = wrongPlace(book, said);
  if (place) return place;
  switch (said.type) {
    case 'negative':
      if (book.step === 'identify') return { why: 'wrong engine' };
      if (book.step === 'condition') return { why: 'condition' };
      if (book.step === 'instruments') return { why: 'instruments' };
      break;
    case 'gauged':
      if (dueValve(book) === null) break;
      if (said.feel === 'tight' || said.feel === 'loose') return { why: 'drag', feel: said.feel };
      if (readingOf(book, said) === null) return { why: 'no blade' };
      if (book.step === 'setDrag') return { why: 'outside' };
      break;
    case 'counted': {
      const out = itemsOut(book)[book.nth];
      if (book.step === 'handStart')
        return { why: 'count', what: FASTENERS, in: book.sheet.cover.fasteners, said: said.number };
      if (said.number === 0) return { why: 'none counted' };
      if (book.step === 'countOut' && out)
        return { why: 'count', what: out.what, in: out.in, said: said.number };
      break;
    }
    case 'skip':
      if (dueValve(book)?.everLoosened) return { why: 'loosened' };
      break;
    case 'gasket':
      if (book.step === 'gasketFit' && said.is === 'old') return { why: 'gasket' };
      break;
    case 'inspected':
      if (book.step === 'inspect') return { why: 'no inspector' };
      break;
  }
  return { why: 'not now', said: said.type };
}
