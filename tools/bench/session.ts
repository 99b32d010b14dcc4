// What a whole session costs: a rehearsal of each demo engine in a process of its own, every answer spoken and heard.
// Usage: npm run bench:session
import { spawn } from 'node:child_process';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { cpus } from 'node:os';
import { appSize } from '../size.ts';

interface Cost {
  utterances: number;
  misses: number;
  signed: boolean;
  seconds: number;
  /** Largest resident memory, MB. */
  memory: number;
}

function rehearsal(sheet: string): Promise<Cost> {
  const started = performance.now();
  const child = spawn('node', [
    '--import',
    'tsx',
    'tools/rehearse.ts',
    '--demo',
    '--voice',
    'rms',
    '--sheet',
    sheet,
  ]);
  let memory = 0;
  const watch = setInterval(() => {
    try {
      const peak = /VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'))?.[1];
      memory = Math.max(memory, Number(peak) / 1024);
    } catch {
      // The process has just ended, or this is no Linux: then no memory is reported.
    }
  }, 200);
  let out = '';
  child.stdout.on('data', (data) => {
    out += data;
  });
  return new Promise((resolve) => {
    child.on('close', () => {
      clearInterval(watch);
      const lines = out
        .trim()
        .split('\n')
        .map((line) => JSON.parse(line));
      resolve({
        utterances: lines.length - 1,
        misses: lines.filter((line) => line.heard === null).length,
        signed: lines.at(-1).record.signed,
        seconds: (performance.now() - started) / 1000,
        memory,
      });
    });
  });
}

console.log(`${new Date().toISOString().slice(0, 10)}, ${cpus()[0]!.model}, Node ${process.version}\n`);
console.log(
  '| sheet | signed | utterances | not heard | wall s | largest memory MB |\n|---|---|---|---|---|---|',
);
for (const name of ['island-clinic-standby', 'polder-pump-six']) {
  const { signed, utterances, misses, seconds, memory } = await rehearsal(`src/trade/sheets/${name}.json`);
  console.log(
    `| ${name} | ${signed ? 'yes' : 'no'} | ${utterances} | ${misses} | ${seconds.toFixed(0)} | ${memory.toFixed(0)} |`,
  );
}
const engines = readdirSync('dist/assets').filter((file) => /safetensors|wasm/.test(file));
console.log(
  `\nApp code without engines: ${(appSize() / 1000).toFixed(1)} kB gzip. Engines: ${engines.map((file) => `${file.replace(/-.*\./, '.')} ${(statSync(`dist/assets/${file}`).size / 1e6).toFixed(1)} MB`).join(', ')}.`,
);
