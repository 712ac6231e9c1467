export default (config) => {
  config.addPassthroughCopy({ "../node_modules/half-bar": "half-bar" });
  config.addGlobalData("layout", "lesson.njk");
};
