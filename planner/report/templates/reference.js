(function () {
  "use strict";
  function light(task) {
    document.querySelectorAll(".task.lit").forEach(function (t) {
      t.classList.remove("lit");
    });
    if (!task) return;
    task.dataset.before.split(" ").filter(Boolean).forEach(function (id) {
      document.getElementById("task-" + id).classList.add("lit");
    });
  }
  document.querySelectorAll("article.task").forEach(function (task) {
    task.addEventListener("mouseenter", function () { light(task); });
    task.addEventListener("focusin", function () { light(task); });
  });
})();
