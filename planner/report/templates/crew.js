(function () {
  "use strict";
  var pick = document.getElementById("pick-day");
  var day = document.getElementById("day");
  pick.hidden = false;
  day.addEventListener("change", function () {
    document.querySelectorAll("article.day").forEach(function (sheet) {
      sheet.hidden = day.value !== "" && sheet.id !== day.value;
    });
    document.querySelector("#days .jump").hidden = day.value !== "";
  });
  function show(id) {
    var sheet = document.getElementById(id);
    if (!sheet || !sheet.matches("article.day")) return;
    day.value = id;
    day.dispatchEvent(new Event("change"));
  }
  window.addEventListener("hashchange", function () {
    if (day.value !== "") show(location.hash.slice(1));
  });
  var today = new Intl.DateTimeFormat("en-CA", { timeZone: day.dataset.zone }).format();
  show(location.hash ? location.hash.slice(1) : "day-" + today);
})();
