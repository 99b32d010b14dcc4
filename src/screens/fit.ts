// Words as large as their frame allows: a short order is read from two metres, and a long one is never cut off.
import type { RefObject } from 'preact';
import { useLayoutEffect } from 'preact/hooks';

/** Parts of the full size, tried from the largest; the last is taken where none fits, and the frame then scrolls. */
const SIZES = [1, 0.92, 0.84, 0.76, 0.69, 0.62, 0.56, 0.5, 0.44];

/** Sets `--fit` on the frame at every drawing and change of size, for its style to multiply sizes by. */
export function useFit(frame: RefObject<HTMLElement | null>): void {
  useLayoutEffect(() => {
    const box = frame.current;
    if (!box) return;
    const adjust = () => {
      for (const size of SIZES) {
        box.style.setProperty('--fit', String(size));
        if (box.scrollHeight <= box.clientHeight) return;
      }
    };
    adjust();
    const watch = new ResizeObserver(adjust);
    watch.observe(box);
    return () => watch.disconnect();
  });
}
