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
  test: { include: ["test/**/*.test.ts"] },
});
