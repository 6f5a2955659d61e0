import { expect, it } from "vitest";
import { drawnByProcessor } from "./software";

it.each([
  ["ANGLE (Google, Vulkan 1.3.0 (SwiftShader Device (Subzero)), SwiftShader driver)", true],
  ["llvmpipe (LLVM 15.0.7, 256 bits)", true],
  ["ANGLE (Intel, Mesa Intel(R) Graphics, OpenGL 4.6)", false],
  ["", false],
])("knows a driver without a chip: %s", (name, expected) => {
  expect(drawnByProcessor(name)).toBe(expected);
});
