// How the app is built and served, and which files the service worker keeps for use without a network.
import preact from '@preact/preset-vite';
import { defineConfig, type Plugin } from 'vite';
import { VitePWA } from 'vite-plugin-pwa';

/**
 * As strict as the default ear and voice allow: WebAssembly for the built-in voice, workers of our own, no eval, no other
 * address. Vosk needs more, and has a page of its own.
 */
export const POLICY = [
  "default-src 'self'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "worker-src 'self'",
  "connect-src 'self'",
  "img-src 'self' data:",
  "style-src 'self'",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

/** What vosk's library needs besides: its worker starts from a blob and compiles code from text. */
export const VOSK_POLICY = POLICY.replace("'wasm-unsafe-eval'", "'wasm-unsafe-eval' 'unsafe-eval'")
  .replace("worker-src 'self'", "worker-src 'self' blob:")
  .replace("connect-src 'self'", "connect-src 'self' blob:");

/** Puts the policy into the built pages, so that it holds on any plain file server. */
const policy: Plugin = {
  name: 'policy',
  apply: 'build',
  transformIndexHtml: (_, { filename }) => [
    {
      tag: 'meta',
      attrs: {
        'http-equiv': 'Content-Security-Policy',
        content: filename.endsWith('vosk.html') ? VOSK_POLICY : POLICY,
      },
      injectTo: 'head-prepend',
    },
  ],
};

/** Where vosk's library and the model of models/vosk lie in the built app. */
const FOR_VOSK = 'assets/vosk';

export default defineConfig({
  base: './',
  plugins: [
    preact(),
    policy,
    VitePWA({
      // A new version is taken when the user asks for it (src/main.ts), never in the middle of the work.
      registerType: 'prompt',
      manifest: false,
      workbox: {
        clientsClaim: true,
        globPatterns: ['**/*.{js,css,html,svg,png,wasm,safetensors,json,webmanifest,txt}'],
        // The built-in voice is 21.5 MB of WebAssembly.
        maximumFileSizeToCacheInBytes: 32_000_000,
        // Only who has chosen vosk has its library and model on the device, from the first use on. Its page (1 kB) is there
        // for all, because page and scripts must be of one version. What newer ones replace goes in time.
        globIgnores: [`${FOR_VOSK}/**`],
        runtimeCaching: [
          {
            urlPattern: new RegExp(`/${FOR_VOSK}/`),
            handler: 'CacheFirst',
            options: { cacheName: 'vosk', expiration: { maxEntries: 40 } },
          },
        ],
      },
    }),
  ],
  // Vosk's library is one chunk of 5.8 MB, loaded only where it is chosen.
  build: {
    target: 'es2022',
    assetsInlineLimit: 0,
    chunkSizeWarningLimit: 6000,
    rolldownOptions: {
      input: ['index.html', 'vosk.html'],
      output: {
        chunkFileNames: ({ moduleIds }) =>
          `${moduleIds.some((id) => id.includes('/vosk-browser/')) ? FOR_VOSK : 'assets'}/[name]-[hash].js`,
        assetFileNames: ({ originalFileNames }) =>
          `${originalFileNames.some((name) => name.startsWith('models/vosk/')) ? FOR_VOSK : 'assets'}/[name]-[hash][extname]`,
      },
    },
  },
  worker: { format: 'es' },
  server: { port: 5173 },
  preview: { port: 4173, strictPort: true },
});
