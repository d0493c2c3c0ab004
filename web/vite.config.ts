import { defineConfig } from "vitest/config";

export default defineConfig({
  base: "./",
  build: {
    outDir: "../src/pondwright/static",
    emptyOutDir: true,
    target: "es2023",
    // The content-security policy allows no data: fonts or inline modules.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
  server: { fs: { allow: [".."] } },
  // The colours are read by the contrast test.
  test: { include: ["test/**/*.test.ts"], css: { include: [/tokens\.css/] } },
});
