import { defineConfig } from "vite";

// One script, one style sheet, no inline code: the server's content-security policy forbids it.
export default defineConfig({
  esbuild: { jsx: "automatic", jsxImportSource: "preact" },
  build: {
    target: "es2021",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    emptyOutDir: true,
    reportCompressedSize: false,
  },
  server: { proxy: { "/api": "http://127.0.0.1:8078" } },
  test: { include: ["tests/unit/**/*.test.ts"], environment: "node" },
} as Parameters<typeof defineConfig>[0]);
