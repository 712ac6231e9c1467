export default (config) => {
  config.addPassthroughCopy({ "../node_modules/half-bar": "half-bar", "../lines": "lines" });
  config.addGlobalData("layout", "lesson.njk");
};
