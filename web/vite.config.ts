import { defineConfig } from "vite";

export default defineConfig({
  // Relative paths: the page works wherever the service mounts it.
  base: "./",
  build: {
    target: "es2022",
    // One script and one style sheet: on a shop's Wi-Fi each further request is a wait.
    modulePreload: false,
    assetsInlineLimit: 0,
  },
});
