// The thresholds that are compared.
import { CLEAR_LEAD } from '../../../src/hearing/strict.ts';
import type { Thresholds } from './measured.ts';

export interface Setting extends Thresholds {
  readonly name: string;
  /** The strict setting of the product: every figure is asked. */
  readonly askAlways?: boolean;
  /** Who says yes to a wrong question does not notice its read-back either. */
  readonly missesBoth?: boolean;
}

export const PRESENT: Setting = { name: 'present verdict', theta: 1, lead: CLEAR_LEAD };
export const SETTINGS: readonly Setting[] = [
  PRESENT,
  { name: 'every figure asked', theta: 1, lead: CLEAR_LEAD, askAlways: true },
  { name: 'present verdict, inattentive', theta: 1, lead: CLEAR_LEAD, missesBoth: true },
  { name: 'every figure asked, inattentive', theta: 1, lead: CLEAR_LEAD, askAlways: true, missesBoth: true },
  { name: 'lead 2.5', theta: 1, lead: 2.5 },
  { name: 'lead 4', theta: 1, lead: 4 },
  { name: 'lead 7', theta: 1, lead: 7 },
  { name: 'θ × 0.8', theta: 0.8, lead: CLEAR_LEAD },
  { name: 'θ × 1.2', theta: 1.2, lead: CLEAR_LEAD },
  { name: 'nothing asked for doubt', theta: 1, lead: CLEAR_LEAD, takeAll: true },
];
