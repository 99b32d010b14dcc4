// What was filled in comes back as it was, and what cannot be used does not.
import { beforeEach, expect, test, vi } from 'vitest';
import { demoSheets } from '../trade/demos.ts';
import { type Draft, keepDraft, keptDraft } from './draft.ts';

const draft: Draft = {
  preparing: {
    sheet: 'own',
    mechanic: 'Robot',
    inspector: '',
    instruments: [{ what: 'feeler gauge', id: 'F 2', due: '2027-01-01' }],
    voice: 'silent',
    askAlways: true,
  },
  sheets: [{ ...demoSheets[0]!, id: 'own' }],
};

const store = new Map<string, string>();
beforeEach(() => {
  store.clear();
  vi.stubGlobal('sessionStorage', {
    getItem: (key: string) => store.get(key) ?? null,
    setItem: (key: string, text: string) => store.set(key, text),
  });
});

test('what was filled in comes back', () => {
  expect(keptDraft()).toBeNull();
  keepDraft(draft);
  expect(keptDraft()).toEqual(draft);
});

test('a damaged draft is none, and a damaged sheet is left out', () => {
  keepDraft({ ...draft, sheets: [...draft.sheets, { ...demoSheets[0]!, firingOrder: [] }] });
  expect(keptDraft()).toEqual(draft);
  for (const [key, text] of store) store.set(key, text.replace('"silent"', '"loud"'));
  expect(keptDraft()).toBeNull();
  for (const key of store.keys()) store.set(key, '{');
  expect(keptDraft()).toBeNull();
});

test('a browser that keeps nothing is no fault', () => {
  vi.stubGlobal('sessionStorage', undefined);
  keepDraft(draft);
  expect(keptDraft()).toBeNull();
});
