// What the world can take away: microphone, voice, storage, the pen, a good data sheet. Each time one clear sentence says
// so, and hands can go on.
import { readFileSync } from 'node:fs';
import { expect, type Page, test } from '@playwright/test';
import { faultsOf, Hands, prepare, SIXTEEN_VALVES } from './page.ts';
import { Robot } from './robot.ts';

// Requests are to fail as the tests say, not to be answered from a cache.
test.use({ serviceWorkers: 'block' });

/** A few steps by touch and keys from the very first. */
async function expectHandsWork(hands: Hands): Promise<void> {
  expect(hands.now?.place).toBe('identify@-/-');
  expect((await hands.touch(/^affirm/i)).place).toBe('cautions@-/-');
  expect((await hands.press('PageDown')).book.nth).toBe(1);
  expect((await hands.touch(/^done/i)).book.nth).toBe(2);
}

const turnItOn = (page: Page) => page.getByRole('button', { name: /turn it on/i }).click();

for (const [error, what, sentence] of [
  ['NotFoundError', 'there is no microphone', 'No microphone was found: connect one and try again'],
  [
    'NotAllowedError',
    'the microphone is not allowed',
    'The microphone is not allowed: allow it in the browser',
  ],
  ['NotReadableError', 'another program has the microphone', 'Another program is using the microphone'],
] as const) {
  test(`where ${what}, that is said and hands go on`, async ({ page }) => {
    await page.addInitScript((name) => {
      navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('', name));
    }, error);
    const hands = await Hands.at(page);
    await prepare(page);
    await turnItOn(page);
    await expect(faultsOf(page)).toContainText(sentence);
    await expect(page.getByRole('button', { name: 'Try again', exact: true })).toBeVisible();
    await hands.touch('Begin');
    await expect(faultsOf(page)).toContainText(sentence);
    await expect(page.getByText(/ear off/i)).toBeVisible();
    await expectHandsWork(hands);
  });
}

test('a microphone unplugged in the middle of a phrase enters nothing, and works again when it is back', async ({
  page,
}) => {
  const robot = await Robot.at(page, ['slt']);
  const hands = await Hands.at(page);
  await prepare(page);
  await turnItOn(page);
  await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 30_000 });
  await hands.touch('Begin');

  const saying = robot.say('affirm');
  await expect(page.getByText(/hearing you/i)).toBeVisible();
  await robot.unplug();
  await expect(faultsOf(page)).toContainText('The microphone was unplugged: connect it and try again');
  await expect(page.getByText(/ear off/i)).toBeVisible();
  await saying;
  expect(robot.heard).toEqual([]);
  await expectHandsWork(hands);

  await page.getByRole('button', { name: /turn the microphone on/i }).click();
  await expect(page.getByText('Listening', { exact: true })).toBeVisible();
  await expect(faultsOf(page)).not.toContainText('unplugged');
  await hands.after(() => robot.say('done'));
  expect(robot.heard.map(({ text }) => text)).toEqual(['done']);
});

test('where no voice works, that is said and the screen is read', async ({ page }) => {
  await page.route('**/*.wasm', (route) => route.abort());
  const hands = await Hands.at(page);
  await prepare(page, SIXTEEN_VALVES, /built-in voice/i);
  await hands.touch('Begin');
  await expect(faultsOf(page)).toContainText('Read from the screen.');
  await expectHandsWork(hands);
});

const UNKEPT: readonly (readonly [string, string, () => void])[] = [
  [
    'a browser without storage',
    'This browser cannot keep records. Open Lashwright in another browser.',
    () => Object.defineProperty(window, 'indexedDB', { value: undefined }),
  ],
  [
    'a window that keeps nothing',
    'This browser keeps no records here, perhaps because the window is private.',
    () => {
      IDBFactory.prototype.open = () => {
        throw new DOMException('', 'SecurityError');
      };
    },
  ],
];
for (const [what, sentence, take] of UNKEPT) {
  test(`in ${what} no session begins, and the page says why`, async ({ page }) => {
    await page.addInitScript(take);
    await prepare(page);
    await expect(faultsOf(page)).toContainText(sentence);
    await page.getByRole('button', { name: /put away/i }).click();
    await expect(faultsOf(page)).not.toContainText(sentence);
    await page.getByRole('button', { name: 'Begin' }).click();
    await expect(faultsOf(page)).toContainText(sentence);
    await expect(page.getByRole('heading', { name: 'Lashwright' })).toBeVisible();
  });
}

test('on a full disk an answer is not entered, and may be given again when there is space', async ({
  page,
}) => {
  const hands = await Hands.at(page);
  const { book } = await hands.begin();
  await page.evaluate(() => {
    const whole = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function add() {
      IDBObjectStore.prototype.add = whole;
      throw new DOMException('', 'QuotaExceededError');
    };
  });
  const unmoved = await hands.press('Enter');
  await expect(faultsOf(page)).toContainText('The disk is full, so this was not kept.');
  expect(unmoved).toMatchObject({ place: 'identify@-/-', book });
  await expectHandsWork(hands);
  await expect(faultsOf(page)).not.toContainText('The disk is full');
});

test('a second tab is told that the first has the pen, and gets it when the first is closed', async ({
  page,
  context,
}) => {
  const first = await Hands.at(page);
  await first.begin();
  await first.touch(/^affirm/i);
  const second = await Hands.at(await context.newPage());
  await prepare(second.page);
  for (const name of ['Begin', 'Go on with it']) {
    await second.page.getByRole('button', { name }).click();
    await expect(faultsOf(second.page)).toContainText('Lashwright is at work in another tab.');
    await second.page.getByRole('button', { name: /put away/i }).click();
  }
  expect((await first.touch(/^done/i)).book.nth).toBe(1);
  await page.close();
  expect((await second.goOn()).book.nth).toBe(1);
});

test('a data sheet with faults is refused by sentences, and the earlier choice stands', async ({ page }) => {
  const good = JSON.parse(readFileSync('src/trade/sheets/polder-pump-six.json', 'utf8'));
  const open = (name: string, text: string) =>
    page.getByLabel(/your own data sheet/i).setInputFiles({
      name,
      mimeType: 'application/json',
      buffer: Buffer.from(text),
    });
  const hands = await Hands.at(page);
  await prepare(page);
  const refused = page.getByText('This sheet cannot be used');
  const sentences = page.locator('.sheetFaults li');

  await open('half.json', JSON.stringify(good).slice(0, 200));
  await expect(refused).toBeVisible();
  await expect(sentences).toHaveText(/^Line 1 cannot be read from “.+” on \(character \d+\)\. Look there/);
  await open('wrong.json', JSON.stringify({ ...good, title: 6, firingOrder: null }));
  await expect(sentences).toHaveText([
    /^title: expected .+, found 6\.$/,
    /^firingOrder: expected .+, found null\.$/,
  ]);
  await expect(page.getByRole('radio', { name: SIXTEEN_VALVES })).toBeChecked();

  await open('own.json', JSON.stringify({ ...good, id: 'own', title: 'Own engine', inspection: false }));
  await expect(refused).toHaveCount(0);
  await expect(page.getByRole('radio', { name: 'Own engine' })).toBeChecked();
  expect((await hands.touch('Begin')).book.sheet.title).toBe('Own engine');
  await expectHandsWork(hands);
});
