// Our own decoder on the strict model's grammar, with the plain rule that the grammar's path for other speech stands for:
// a phrase is taken where it loses at most 1.6 nats a phone against the best free string of phones.
import { readFileSync } from 'node:fs';
import { align, Decoder } from '../../src/hearing/decoder.ts';
import { logMel } from '../../src/hearing/features.ts';
import { phoneGraph } from '../../src/hearing/graph.ts';
import { type EarModel, NetworkStream, readModel } from '../../src/hearing/network.ts';
import { graphOf } from '../../src/phrases/wordgraph.ts';
import { strictGrammar, strictLexicon } from './grammar.ts';

const THETA = 1.6;

/** An ear's network by the path of its file. */
export const earModel = (path: string) => readModel(new Uint8Array(readFileSync(path)).buffer);

/** @returns what our decoder takes each utterance for: a sentence of the grammar, or null. */
export function strictEar(model: EarModel): (samples: Float32Array) => string | null {
  const grammar = strictGrammar();
  const lexicon = strictLexicon(grammar);
  const graph = phoneGraph(grammar, lexicon, model.units);
  return (samples) => {
    const stream = new NetworkStream(model);
    const posteriors = Float32Array.from([...stream.push(logMel(samples)), ...stream.tail()]);
    const decoder = new Decoder(graph, model.units.length);
    decoder.push(posteriors);
    const best = decoder.hypotheses()[0];
    if (!best) return null;
    const said = best.words.join(' ');
    const path = align(phoneGraph(graphOf([said]), lexicon, model.units), posteriors, model.units.length);
    const phones = path!.words.reduce((sum, word) => sum + word.phones, 0);
    return best.cost / phones <= THETA ? said : null;
  };
}
