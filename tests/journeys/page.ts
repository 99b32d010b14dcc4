// The app as hands use it: touch, keys and pedal, with neither ear nor voice. The page itself tells when it is ready for
// the next act, so that nothing here waits for a time.
import AxeBuilder from '@axe-core/playwright';
import { expect, type Locator, type Page } from '@playwright/test';
import { choicesFor } from '../../src/phrases/choices.ts';
import { meaningOf } from '../../src/phrases/grammar.ts';
import { vocabulary } from '../../src/phrases/vocabulary.ts';
import { answer } from '../../tools/mechanic.ts';
import type { Listening } from './robot.ts';

export const SIXTEEN_VALVES = 'Standby generator of the island clinic';
export const TWELVE_VALVES = 'Storm pump engine of the polder station';

export class Hands {
  readonly page: Page;
  /** What the page told last. */
  now: Listening | null = null;
  #told: (now: Listening) => void = () => {};

  private constructor(page: Page) {
    this.page = page;
  }

  /** Before the page is opened. */
  static async at(page: Page): Promise<Hands> {
    const hands = new Hands(page);
    await page.exposeFunction('handsTold', (now: Listening) => {
      hands.now = now;
      hands.#told(now);
    });
    await page.addInitScript(() => {
      document.addEventListener('lashwright:listening', (event) => {
        (window as unknown as { handsTold(now: unknown): void }).handsTold((event as CustomEvent).detail);
      });
    });
    return hands;
  }

  /** Does something, and waits until the app is ready for more. */
  async after(act: () => Promise<unknown>): Promise<Listening> {
    const told = new Promise<Listening>((resolve) => {
      this.#told = resolve;
    });
    await act();
    return told;
  }

  /** One key after the other; only the last is answered. */
  press(...keys: readonly string[]): Promise<Listening> {
    return this.after(async () => {
      for (const key of keys) await this.page.keyboard.press(key);
    });
  }

  touch(name: string | RegExp): Promise<Listening> {
    return this.after(() => this.page.getByRole('button', { name }).click());
  }

  /** A session begun without a voice. */
  async begin(title: string = SIXTEEN_VALVES): Promise<Listening> {
    await prepare(this.page, title);
    return this.touch('Begin');
  }

  goOn(): Promise<Listening> {
    return this.touch('Go on with it');
  }

  /** What a practised mechanic enters now, by keys. */
  answer({ book, going }: Listening): Promise<Listening> {
    const words = answer(book, going) ?? '';
    const entry = meaningOf(vocabulary(book, going), words);
    const choices = choicesFor(book, going);
    const main = choices.find(({ weight }) => weight === 'main');
    if (entry?.type === 'counted') return this.press(...String(entry.number), 'Enter');
    if (entry?.type === 'gauged' && entry.reading && !main)
      return this.press(...String(entry.reading.value), 'Enter');
    const own = choices.find((choice) => JSON.stringify(choice.entry) === JSON.stringify(entry));
    return this.press(own?.key ?? 'Enter');
  }

  /** Answers until something is so. */
  async work(until: (now: Listening) => boolean | Promise<boolean>): Promise<Listening> {
    let now = this.now!;
    while (!(await until(now))) now = await this.answer(now);
    return now;
  }
}

/** Opens the page and fills in what must be given. */
export async function prepare(
  page: Page,
  title: string = SIXTEEN_VALVES,
  voice = /no voice/i,
): Promise<void> {
  await page.goto('/');
  await page.getByRole('radio', { name: title }).check();
  await page.getByLabel(/mechanic, who/i).fill('Robot');
  if (title === TWELVE_VALVES) await page.getByLabel(/inspector, somebody else/i).fill('Second robot');
  await page.getByRole('radio', { name: voice }).check();
}

/** The sentence that asks for what is due now. */
export const promptOf = (page: Page): Locator => page.locator('.prompt');
/** The sentences about what does not work. */
export const faultsOf = (page: Page): Locator => page.getByRole('alert');

/** No rule of WCAG 2.2, levels A and AA, that can be checked by a program is broken. */
export async function expectAccessible(page: Page): Promise<void> {
  const { violations } = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
    .analyze();
  expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`)).toEqual([]);
}
