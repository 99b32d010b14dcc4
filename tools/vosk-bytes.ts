// Numbers as the files of a Vosk model hold them: little-endian, one after the other.
// Those of Kaldi (am/final.mdl) and of OpenFst (the graphs) are alike in this.

export const int32 = (...values: number[]) => Buffer.from(Int32Array.from(values).buffer);
export const int64 = (...values: number[]) => Buffer.from(BigInt64Array.from(values, BigInt).buffer);
export const float32 = (...values: number[]) => Buffer.from(Float32Array.from(values).buffer);
