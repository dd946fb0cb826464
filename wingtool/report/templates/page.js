"use strict";
(function () {
  var table = JSON.parse(document.getElementById("table").textContent);
  var get = function (id) { return document.getElementById(id); };
  function figures(value) {
    if (value === null || !isFinite(value)) return "\u2013";
    if (value === 0) return "0";
    var digits = Math.abs(value).toExponential(6)[0] === "1" ? 3 : 2;
    var rounded = Number(value.toPrecision(digits));
    var places = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(rounded))));
    return rounded.toFixed(places).replace("-", "\u2212");
  }
  function cell(points, at) {
    var k = 0;
    while (k < points.length - 2 && points[k + 1] <= at) k += 1;
    if (points.length === 1) return [0, 0, 0];
    return [k, k + 1, Math.min(1, Math.max(0, (at - points[k]) / (points[k + 1] - points[k])))];
  }
  function corners(speed, angle) {
    var s = cell(table.speed_m_s, speed), a = cell(table.wing_angle_deg, angle);
    return [[s[0], a[0], (1 - s[2]) * (1 - a[2])], [s[0], a[1], (1 - s[2]) * a[2]],
            [s[1], a[0], s[2] * (1 - a[2])], [s[1], a[1], s[2] * a[2]]];
  }
  function read(grid, places) {
    var sum = 0;
    for (var i = 0; i < places.length; i += 1) {
      if (places[i][2] < 1e-9) continue;
      var value = grid[places[i][0]][places[i][1]];
      if (value === null) return null;
      sum += places[i][2] * value;
    }
    return sum;
  }
  function words(grid, places) {
    var found = [];
    places.forEach(function (p) {
      var word = table.words[grid[p[0]][p[1]]];
      if (p[2] >= 1e-9 && found.indexOf(word) < 0) found.push(word);
    });
    return found.join("; ");
  }
  function force(set, name, places, pressure) {
    var value = read(set[name], places), low = read(set[name + "_low"], places), high = read(set[name + "_high"], places);
    if (value === null) return "no number here";
    return figures(value * pressure) + " N, " + figures(value * pressure / 4.4482216) + " lbf (" +
      figures(low * pressure) + " to " + figures(high * pressure) + " N)";
  }
  function show() {
    var angle = Number(get("angle").value), km_h = Number(get("speed").value), density = Number(get("air").value);
    var speed = Math.min(Math.max(km_h / 3.6, table.speed_m_s[0]), table.speed_m_s[table.speed_m_s.length - 1]);
    // a row in mph lies between whole km/h: beside it the slider shows that row
    table.speed_m_s.forEach(function (row) { if (Math.abs(row * 3.6 - km_h) <= 0.5) { speed = row; } });
    var set = table.tabs[Number(get("tab").value)], places = corners(speed, angle);
    var pressure = 0.5 * density * speed * speed;
    get("angle-out").textContent = angle.toFixed(1).replace("-", "\u2212") + "\u00b0";
    get("tab-out").textContent = (set.tab_m * 1000).toFixed(1) + " mm";
    get("speed-out").textContent = km_h.toFixed(0) + " km/h, " + (speed / 0.44704).toFixed(0) + " mph";
    get("air-out").textContent = density.toFixed(2) + " kg/m\u00b3, " + (density < 1.13 ? "thin: hot or high" : density > 1.26 ? "dense: cold" : "usual");
    get("downforce-out").textContent = force(set, "downforce_area_m2", places, pressure);
    get("drag-out").textContent = force(set, "drag_area_m2", places, pressure);
    var margin = read(set.stall_margin_deg, places);
    get("margin-out").textContent = margin === null ? "not known" : figures(margin) + "\u00b0";
    get("status-out").textContent = words(set.status, places);
    var ends = table.wing_angle_deg, x = 14 + 312 * (angle - ends[0]) / (ends[ends.length - 1] - ends[0]);
    get("ruler-marker").setAttribute("d", "M" + x.toFixed(1) + " 60l-6 -30h12Z");
  }
  ["angle", "tab", "speed", "air"].forEach(function (id) { get(id).addEventListener("input", show); });
  get("try").hidden = false;
  show();
}());
