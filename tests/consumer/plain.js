// A page without a bundler: the package's files lie beside it.
const example = document.querySelector("half-bar");
await customElements.whenDefined("half-bar");
await example.ready();
await example.recast(1, 1, "split-middle");
const [{ figure, spelling }] = await example.windows();
document.title = [example.drawn, figure, spelling].join(", ");
