// Compares what the package says about the element with what the element has: types, manifest and README list the same names.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import ts from "typescript";
import { HalfBar } from "half-bar";

const require = createRequire(import.meta.url);
const folder = new URL(".", import.meta.resolve("half-bar"));
const read = (name) => readFileSync(new URL(name, folder), "utf8");
const same = (what, found, expected) => assert.deepEqual([...new Set(found)].sort(), [...new Set(expected)].sort(), what);
const current = (list) => list.filter(({ deprecated }) => !deprecated);
const names = (list) => list.map(({ name }) => name);

const element = require("half-bar/custom-elements.json").modules[0].declarations[0];

// The members of a class or an interface in the types: name, and whether it is a method, read-only, static or deprecated.
const types = ts.createSourceFile("half-bar.d.ts", read("half-bar.d.ts"), ts.ScriptTarget.Latest, true);
const members = (name) =>
  types.statements.find((one) => one.name?.text === name).members.map((member) => ({
    name: member.name.text,
    method: ts.isMethodDeclaration(member),
    readonly: member.modifiers?.some(({ kind }) => kind === ts.SyntaxKind.ReadonlyKeyword) ?? false,
    static: member.modifiers?.some(({ kind }) => kind === ts.SyntaxKind.StaticKeyword) ?? false,
    deprecated: ts.getJSDocDeprecatedTag(member) !== undefined,
  }));
const own = members("HalfBar").filter((member) => !member.static);
const statics = members("HalfBar").filter((member) => member.static);

// The names in the first column of the README's table with this heading, if `which` takes the cell.
const rows = (heading, which = () => true) => {
  const [, table] = read("README.md").split(`\n| ${heading} |`);
  const cells = table.split("\n\n")[0].split("\n").slice(2).map((row) => row.split(" | ")[0]);
  return cells.filter(which).flatMap((cell) => [...cell.matchAll(/`([\w-]+)/g)].map(([, name]) => name));
};
const isReadOnly = (cell) => cell.includes("read-only");

// What a script sees in the class itself.
const described = Object.entries(Object.getOwnPropertyDescriptors(HalfBar.prototype)).filter(
  ([name]) => name !== "constructor" && !name.endsWith("Callback"),
);
const there = (which) => described.filter(([, member]) => which(member)).map(([name]) => name);

same("attributes in the manifest", names(element.attributes), HalfBar.observedAttributes);
same("attributes in the types", names(members("HalfBarAttributes")), HalfBar.observedAttributes);
same("attributes in the README", rows("attribute, property", (cell) => !isReadOnly(cell)), names(current(element.attributes)));

const fields = (readonly) => own.filter((member) => !member.method && member.readonly === readonly);
same("properties to set in the types", names(fields(false)), there(({ set }) => set));
same("every attribute has a property", names(fields(false)), HalfBar.observedAttributes);
same("read-only properties in the types", names(fields(true)), there(({ get, set }) => get && !set));
const methods = own.filter((member) => member.method);
same("methods in the types", names(methods), there(({ value }) => value));
same("members in the manifest", names(element.members), [
  ...names(own),
  ...names(statics).filter((name) => !["formAssociated", "observedAttributes"].includes(name)),
]);
for (const name of names(statics)) assert.ok(name in HalfBar, name);
const written = [...rows("attribute, property", isReadOnly), ...rows("method"), ...rows("as in any form control")];
same("methods and read-only properties in the README", written, [...names(fields(true)), ...names(methods)]);

const events = members("HalfBarEventMap");
same("events in the manifest", names(element.events), names(events));
same("events in the README", rows("event"), names(events));
const told = [...read("half-bar.js").matchAll(/#tell\("(\w+)"|name === "(casting|remark)"/g)].map(([, one, other]) => one ?? other);
same("events in the script", told.map((name) => `halfbar-${name}`), names(events));

same("states in the README", rows("state"), names(element.cssStates));
same("slots in the README", rows("slot"), names(element.slots).filter(Boolean));
same("parts in the README", rows("part"), names(current(element.cssParts)));
same("custom properties in the README", rows("custom property"), names(element.cssProperties));

console.log(`names agree: ${element.attributes.length} attributes, ${element.members.length} members, ${events.length} events`);
