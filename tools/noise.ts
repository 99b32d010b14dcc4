// Noise under speech at a stated ratio: the power of the loud tenth-seconds of the speech against that of the noise.

/** Mean power of the frames (20 ms at 16 kHz) that are within 20 dB of the loudest: the active speech level. */
export function activePower(speech: Float32Array): number {
  const powers: number[] = [];
  for (let at = 0; at + FRAME <= speech.length; at += FRAME)
    powers.push(power(speech.subarray(at, at + FRAME)));
  const loud = powers.filter((each) => each > Math.max(...powers) / 100);
  return loud.length > 0 ? loud.reduce((sum, each) => sum + each, 0) / loud.length : 0;
}
const FRAME = 320;

/**
 * Speech with noise all around it, as a machine runs on before and after.
 * @param snr dB, active speech level against the noise's own power
 * @param lead samples of noise alone before and after
 */
export function mixed(
  speech: Float32Array,
  noise: Float32Array,
  snr: number,
  from: number,
  lead: number,
): Float32Array {
  const gain = Math.sqrt(activePower(speech) / 10 ** (snr / 10) / Math.max(power(noise), 1e-12));
  const sound = new Float32Array(speech.length + 2 * lead);
  for (let i = 0; i < sound.length; i++) sound[i] = gain * noise[(from + i) % noise.length]!;
  for (let i = 0; i < speech.length; i++) sound[lead + i]! += speech[i]!;
  return sound;
}

function power(samples: Float32Array): number {
  let sum = 0;
  for (const sample of samples) sum += sample * sample;
  return sum / Math.max(1, samples.length);
}
