// Without a voice: everything can be done by keys, by pedal and by touch, on a wide screen and on a narrow one, and with
// what assistive technology needs.
import { expect, type Locator, type Page, test } from '@playwright/test';
import app from '../../package.json' with { type: 'json' };
import { expectAccessible, Hands, prepare, promptOf, TWELVE_VALVES } from './page.ts';

/** Goes on with the Tab key until something has the focus. */
async function tabTo(page: Page, wanted: Locator): Promise<void> {
  for (let presses = 0; presses < 60; presses++) {
    await page.keyboard.press('Tab');
    if (await wanted.evaluate((element) => element === document.activeElement)) return;
  }
  throw new Error('Not reached by the Tab key.');
}

test('by keyboard and pedal alone a session is prepared, begun and led to the counts', async ({ page }) => {
  const hands = await Hands.at(page);
  await page.goto('/');
  await tabTo(page, page.getByLabel(/mechanic, who/i));
  await page.keyboard.type('Robot');
  await tabTo(page, page.getByRole('radio', { name: /built-in voice/i }));
  await page.keyboard.press('ArrowDown');
  await expect(page.getByRole('radio', { name: /no voice/i })).toBeChecked();
  await tabTo(page, page.getByRole('button', { name: 'Begin' }));
  const begun = await hands.press('Enter');
  expect(begun.place).toBe('identify@-/-');

  expect((await hands.press('PageDown')).place).toBe('cautions@-/-');
  expect((await hands.press('PageUp')).book.nth, 'the other pedal says it again').toBe(0);
  expect((await hands.press('PageDown')).book.nth).toBe(1);
  expect((await hands.press('Escape')).book.nth, 'the last entry is taken back').toBe(0);
  expect((await hands.press('Home')).going).toBe('standBy');
  expect((await hands.press('Home')).going, 'whether to go back and check').toBe('offer');
  expect((await hands.press('PageUp')).going).toBe('work');
  expect((await hands.press('End')).going).toBe('stopped');
  await hands.work(({ book }) => book.step === 'countIn');

  await page.keyboard.press('1');
  await page.keyboard.press('3');
  await page.keyboard.press('Backspace');
  const counted = await hands.press('2', 'Enter');
  expect(counted.book.kept.at(-1)?.entry).toEqual({ type: 'counted', number: 12 });
});

test('by touch alone a session is begun, a figure entered, a question answered and an answer taken back', async ({
  page,
}) => {
  const hands = await Hands.at(page);
  await hands.begin();
  await hands.touch(/^affirm/i);
  for (let k = 0; k < 3; k++) await hands.touch(/^done/i);
  expect((await hands.touch(/^correction/i)).book.nth).toBe(2);
  expect((await hands.touch(/^stand by/i)).going).toBe('standBy');
  await expect(promptOf(page)).toHaveText('Standing by. Say carry on.');
  const carryOn = page.getByRole('button', { name: /^carry on/i }).first();
  expect((await hands.after(() => carryOn.click())).going).toBe('offer');
  expect((await hands.touch(/^negative/i)).going).toBe('work');

  await hands.work(({ book }) => book.step === 'gauge');
  const figure = async (digits: string) => {
    await page.getByRole('button', { name: /enter a figure/i }).click();
    const keypad = page.getByRole('region', { name: 'Enter a reading' });
    for (const digit of digits) {
      await keypad.getByRole('button', { name: digit === '.' ? 'point' : digit, exact: true }).click();
    }
    return hands.after(() => keypad.getByRole('button', { name: /^enter/i }).click());
  };
  const asked = await figure('.95');
  expect(asked.going).toBe('asking');
  expect((await hands.touch(/^negative/i)).book.kept).toHaveLength(asked.book.kept.length);
  await figure('.95');
  const affirmed = await hands.touch(/^affirm/i);
  expect(affirmed.book.kept.at(-1)?.entry).toMatchObject({ reading: { value: 0.95, unit: 'mm' } });
});

test('at the wrong engine another can be chosen, and nothing has begun', async ({ page }) => {
  const hands = await Hands.at(page);
  await hands.begin();
  expect((await hands.touch(/^negative/i)).place).toBe('identify@-/-');
  await page.getByRole('button', { name: 'Choose another engine' }).click();
  await page.getByRole('radio', { name: TWELVE_VALVES }).check();
  expect((await hands.touch('Begin')).book.sheet.title).toBe(TWELVE_VALVES);
  await hands.touch(/^affirm/i);
  await expect(page.getByRole('button', { name: 'Choose another engine' })).toHaveCount(0);
});

test('a session that was left at its first question is not offered again, an earlier one is', async ({
  page,
}) => {
  const hands = await Hands.at(page);
  await hands.begin(TWELVE_VALVES);
  await hands.touch(/^affirm/i);
  await hands.begin();
  await hands.touch(/^negative/i);
  await page.getByRole('button', { name: 'Choose another engine' }).click();
  await page.reload();
  await expect(page.getByRole('region', { name: 'A session was broken off' })).toContainText(TWELVE_VALVES);
});

test('Prepare, a step, a figure, a question and a pause meet WCAG 2.2 AA', async ({ page }) => {
  const hands = await Hands.at(page);
  await prepare(page);
  await expectAccessible(page);
  await hands.touch('Begin');
  await expectAccessible(page);
  await hands.work(({ book }) => book.step === 'gauge');
  await page.keyboard.press('9');
  await expectAccessible(page);
  expect((await hands.press('9', 'Enter')).going).toBe('asking');
  await expectAccessible(page);
  await hands.press('PageUp');
  await hands.press('Home');
  await expectAccessible(page);
});

test('on a phone every key of the keypad is in reach as soon as it opens', async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const hands = await Hands.at(page);
  await hands.begin();
  await hands.work(({ book }) => book.step === 'setDrag');
  await page.getByRole('button', { name: /enter a figure/i }).click();
  const keypad = page.getByRole('region', { name: 'Enter a reading' });
  for (const key of await keypad.getByRole('button').all()) {
    const isOnTop = await key.evaluate((button) => {
      const { left, width, top, height } = button.getBoundingClientRect();
      const [there, below] = [1, height - 1].map((y) => document.elementFromPoint(left + width / 2, top + y));
      return button.contains(there!) && button.contains(below!);
    });
    expect(isOnTop, (await key.textContent())!).toBe(true);
  }
});

test('About is found at the foot of Prepare, by keys as well, and leads back there', async ({ page }) => {
  await page.goto('/');
  const link = page.getByRole('link', { name: /about lashwright/i });
  await tabTo(page, link);
  await page.keyboard.press('Enter');
  await expect(page.getByRole('heading', { name: 'About Lashwright' })).toBeFocused();
  await expect(page.getByText(`Version ${app.version}.`)).toBeVisible();
  await expect(page.getByRole('listitem').filter({ hasText: 'Pete Warden' })).toHaveCount(2);
  for (const colorScheme of ['dark', 'light'] as const) {
    await page.emulateMedia({ colorScheme });
    await expectAccessible(page);
  }
  await page.setViewportSize({ width: 390, height: 844 });
  expect((await overflow(page)).sideways).toBe(0);
  expect(await cutOff(page)).toEqual([]);
  await page.keyboard.press('Escape');
  await expect(link).toBeFocused();
  await link.click();
  await page.getByRole('button', { name: /^back/i }).click();
  await expect(link).toBeFocused();
  await page.goBack();
  await expect(page.getByRole('heading', { name: 'About Lashwright' })).toBeVisible();
});

const overflow = (page: Page) =>
  page.evaluate(() => {
    const { scrollWidth, clientWidth, scrollHeight, clientHeight } = document.documentElement;
    return { sideways: scrollWidth - clientWidth, down: scrollHeight - clientHeight };
  });

/** What sticks out of the screen sideways, unless its own frame scrolls. */
const cutOff = (page: Page) =>
  page.evaluate(() =>
    [...document.querySelectorAll('button, p, h1, h2, h3, li, dl, input, label')]
      .filter((element) => {
        const { left, right, width } = element.getBoundingClientRect();
        const isHidden = width <= 1 || element.closest('.unseen, .head, .tableFrame, .strip ol') !== null;
        return !isHidden && (left < -1 || right > innerWidth + 1);
      })
      .map((element) => element.outerHTML.slice(0, 120)),
  );

/** Parts of the bench whose words do not all fit into them. */
const clipped = (page: Page) =>
  page.evaluate(async () => {
    // The words are made to fit when the frame has its new size.
    await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
    return [...document.querySelectorAll('.now, .ear, .last, .choices, .controls')]
      .filter(({ scrollHeight, clientHeight }) => scrollHeight > clientHeight + 1)
      .map(({ className, scrollHeight, clientHeight }) => `${className} ${scrollHeight} > ${clientHeight}`);
  });

test('every step fits a wide screen without scrolling, and a narrow one cuts nothing off sideways', async ({
  page,
}) => {
  const hands = await Hands.at(page);
  await prepare(page);
  const narrow = { width: 390, height: 844 };
  const wide = [
    { width: 1280, height: 800 },
    { width: 1920, height: 1080 },
  ];
  const expectFits = async (where: string, mayScroll = false) => {
    for (const size of wide) {
      await page.setViewportSize(size);
      const { sideways, down } = await overflow(page);
      expect(sideways, `${where}, wide`).toBe(0);
      if (mayScroll) continue;
      expect(down, `${where}, wide, down`).toBe(0);
      expect(await clipped(page), `${where}, ${size.width} wide`).toEqual([]);
    }
    await page.setViewportSize(narrow);
    expect((await overflow(page)).sideways, `${where}, narrow`).toBe(0);
    expect(await cutOff(page), `${where}, narrow`).toEqual([]);
  };
  await expectFits('Prepare', true);
  await hands.touch('Begin');
  let last = '';
  await hands.work(async ({ book }) => {
    if (book.step !== last) await expectFits(book.step);
    last = book.step;
    return book.step === 'sign';
  });
});
