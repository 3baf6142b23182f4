import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const web = fileURLToPath(new URL("..", import.meta.url));

/** Bundles the tests of the pure parts to plain JavaScript, which Node 20 can run. */
export default defineConfig({
  root: web,
  build: {
    ssr: true,
    target: "node20",
    outDir: "node_modules/.warmdraw-tests",
    rolldownOptions: {
      input: {
        words: `${web}tests/words.test.ts`,
        draft: `${web}tests/draft.test.ts`,
        freshness: `${web}tests/freshness.test.ts`,
      },
    },
  },
});
