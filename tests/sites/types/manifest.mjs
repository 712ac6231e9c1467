// Checks the package's manifest against the schema that the standard publishes (custom-elements-manifest, npm).
import Ajv from "ajv";
import { createRequire } from "node:module";

const require = createRequire(import.meta.url);
const manifest = require("half-bar/custom-elements.json");
const ajv = new Ajv({ allErrors: true, allowUnionTypes: true });
ajv.addSchema(require("custom-elements-manifest/schema.json"), "standard");

// The schema takes an element with a mistake for a plain class, so each element is checked by itself.
const elements = manifest.modules.flatMap(({ declarations }) => declarations);
for (const [kind, value] of [["", manifest], ...elements.map((element) => ["/definitions/CustomElementDeclaration", element])]) {
  if (!ajv.validate({ $ref: `standard#${kind}` }, value)) throw new Error(ajv.errorsText());
}
