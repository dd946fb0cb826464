"use strict";
(function () {
  var table = JSON.parse(document.getElementById("table").textContent);
  var get = function (id) { return document.getElementById(id); };
  function tenths(value) { return value.toFixed(1).replace("-", "\u2212"); }
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
  var pounds = table.units.force === "lbf", miles = table.units.speed === "mph";
  var si = table.si, newton = pounds ? si.lbf : 1, unit = pounds ? "lbf" : "N", m_s = miles ? si.mph : si.km_h;
  function own(value) { return figures(value / newton) + " " + unit; }
  function range(name) {  // ends of a bar: from nothing, or what lifts, to the most of the table at its top speed
    var top = table.speed_m_s[table.speed_m_s.length - 1], low = 0, high = 0;
    table.tabs.forEach(function (set) {  // stalled rows would make the bars of all others small
      set.stall_margin_deg.forEach(function (row, k) { row.forEach(function (margin, m) {
        if (!(margin > 0)) return;
        low = Math.min(low, set[name + "_low"][k][m]); high = Math.max(high, set[name + "_high"][k][m]);
      }); });
    });
    return [low * 0.6125 * top * top, high * 0.6125 * top * top];
  }
  var ranges = { downforce: range("downforce_area_m2"), drag: range("drag_area_m2"), margin: [-5, 20], share: [0.3, 0.8] };
  function bar(name, value, low, high) {
    var ends = ranges[name], place = function (v) { return 100 * Math.min(1, Math.max(0, (v - ends[0]) / (ends[1] - ends[0]))); };
    var known = value !== null, band = get(name + "-band"), tick = get(name + "-tick");
    band.style.display = tick.style.display = known ? "" : "none";
    if (!known) return;
    band.style.left = place(low) + "%"; band.style.width = place(high) - place(low) + "%"; tick.style.left = place(value) + "%";
  }
  function force(set, name, places, pressure) {
    var key = name + "_area_m2", value = read(set[key], places), low = read(set[key + "_low"], places), high = read(set[key + "_high"], places);
    bar(name, value === null ? null : value * pressure, low * pressure, high * pressure);
    if (value === null) { get(name + "-out").textContent = "no number here"; return null; }
    var other = pounds ? figures(value * pressure) + " N" : figures(value * pressure / si.lbf) + " lbf";
    get(name + "-out").textContent = own(value * pressure) + ", " + other + " (" + figures(low * pressure / newton) + " to " + figures(high * pressure / newton) + " " + unit + ")";
    return value * pressure;
  }
  function arrow(name, x, y, dx, dy) {
    var size = Math.sqrt(dx * dx + dy * dy), d = "";
    if (size > 0.5) {
      var h = Math.min(7, 0.7 * size), ux = dx / size, uy = dy / size, ex = x + dx, ey = y + dy;
      d = "M" + [x, y].map(short).join(" ") + "L" + [ex, ey].map(short).join(" ") + "M" + [ex - h * (ux + 0.5 * uy), ey - h * (uy - 0.5 * ux)].map(short).join(" ") +
        "L" + [ex, ey].map(short).join(" ") + "L" + [ex - h * (ux - 0.5 * uy), ey - h * (uy + 0.5 * ux)].map(short).join(" ");
    }
    get("act-" + name).setAttribute("d", d);
  }
  function say(name, text) { get("say-" + name).textContent = text; }
  function pressed(name, newton) { return name + (newton < 0 ? " lift " : " downforce ") + own(Math.abs(newton)); }
  function short(v) { return v.toFixed(1); }
  function turn(id, pivot, angle) { get(id).setAttribute("transform", "rotate(" + short(-angle) + " " + pivot + ")"); }
  function car(set, places, angle, pressure, down, drag) {
    var p = table.place, top = Math.max(0.7 * ranges.downforce[1], 1), x = p.pivot[0], y = p.pivot[1];
    turn("car-wing", p.pivot.join(" "), angle);
    var most = Math.min(60, 52 * (down || 0) / top);
    arrow("down", x, y - 12 - Math.max(most, 0), 0, most);
    arrow("drag", x + 12, y - 6, Math.max(-40, Math.min(22, 200 * (drag || 0) / top)), 0);
    say("at", "At " + get("speed-out").textContent.split(",")[0] + " and " + get("angle-out").textContent);
    say("down", down === null ? "no number here" : pressed("wing", down)); say("drag", drag === null ? "" : "wing drag " + own(drag));
    if (!table.weight_n) return;
    say("body", pressed("body", p.body_m2 * pressure)); say("parts", p.parts ? pressed(p.parts, p.parts_m2 * pressure) : "");
    var front = read(set.front_area_m2, places), rear = read(set.rear_area_m2, places), names = ["front", "rear"];
    [front, rear].forEach(function (area, k) {
      var load = area === null ? 0 : area * pressure, size = Math.max(-22, Math.min(22, 30 * load / top)), at = p.ground + 4;
      arrow(names[k], p[names[k]], size < 0 ? at - size : at, 0, size); say(names[k], area === null ? "" : (load > 0 ? "+" : "") + own(load));
    });
    if (front === null) { get("share-out").textContent = "no number here"; bar("share", null); return; }
    var on = table.weight_n[0] + pressure * front, off = table.weight_n[1] + pressure * rear, share = on / (on + off);
    var least = share - pressure * read(set.share_down_1_pa, places), most_front = share + pressure * read(set.share_up_1_pa, places);
    var bare_on = table.weight_n[0] + pressure * p.body_axles_m2[0], bare_off = table.weight_n[1] + pressure * p.body_axles_m2[1];
    bar("share", share, least, most_front);
    get("share-out").textContent = (100 * share).toFixed(1) + " % (" + (100 * least).toFixed(1) + " to " + (100 * most_front).toFixed(1) + " %; bare car " +
      (100 * bare_on / (bare_on + bare_off)).toFixed(1) + " %)";
  }
  function alpha(angle) {  // of the middle strip to the air that meets it; the wing's own angle where it is not known
    var a = cell(table.wing_angle_deg, angle), at = table.section.alpha_deg;
    return at[a[0]] === null || at[a[1]] === null ? angle : at[a[0]] + a[2] * (at[a[1]] - at[a[0]]);
  }
  function section(angle, stalled) {
    var deg = alpha(angle), turn = deg * Math.PI / 180, paths = { suction: "", pressing: "" };
    table.section.elements.forEach(function (e) {
      var n = e[0].length, x = e[0].map(function (v) { return 75 + 190 * v; }), y = e[1].map(function (v) { return 70 + 190 * v; });
      ["suction", "pressing"].forEach(function (kind) {
        var edge = "", body = "";
        for (var i = 0; i < n; i += 1) {
          var speed = e[2][i] * Math.cos(turn) + e[3][i] * Math.sin(turn), cp = 1 - speed * speed;
          var wide = kind === "suction" ? 20 * Math.min(Math.max(-cp, 0), 3) : 10 * Math.max(cp, 0);
          var j = Math.min(i + 1, n - 1), k = Math.max(i - 1, 0), dx = x[j] - x[k], dy = y[j] - y[k], size = Math.hypot(dx, dy) || 1;
          edge += (i ? "L" : "M") + short(x[i] + wide * dy / size) + " " + short(y[i] - wide * dx / size);
          body += (i ? "L" : "M") + short(x[i]) + " " + short(y[i]);
        }
        paths[kind] += edge + "Z" + body + "Z";
      });
    });
    get("suction").setAttribute("d", stalled ? "" : paths.suction); get("pressing").setAttribute("d", stalled ? "" : paths.pressing);
    get("section-turns").setAttribute("transform", "rotate(" + short(-deg) + " 122.5 70)");
    get("section-says").textContent = "At " + short(deg).replace("-", "\u2212") + "\u00b0 to the air that meets the middle, " +
      (stalled ? "beyond the stall, where a flow without friction does not hold." : "without friction.");
  }
  function show() {
    var angle = Number(get("angle").value), shown = Number(get("speed").value), density = Number(get("air").value);
    var speed = Math.min(Math.max(shown * m_s, table.speed_m_s[0]), table.speed_m_s[table.speed_m_s.length - 1]);
    // a row in another unit lies between whole numbers: beside it the slider shows that row
    table.speed_m_s.forEach(function (row) { if (Math.abs(row / m_s - shown) <= 0.5) { speed = row; } });
    var set = table.tabs[Number(get("tab").value)], places = corners(speed, angle);
    var pressure = 0.5 * density * speed * speed;
    get("angle-out").textContent = angle.toFixed(1).replace("-", "\u2212") + "\u00b0";
    get("tab-out").textContent = table.units.length === "in" ? (set.tab_m / si.inch).toFixed(2) + " in" : (set.tab_m * 1000).toFixed(1) + " mm";
    var both = [(speed / si.km_h).toFixed(0) + " km/h", (speed / si.mph).toFixed(0) + " mph"];
    get("speed-out").textContent = (miles ? both.reverse() : both).join(", ");
    get("air-out").textContent = density.toFixed(2) + " kg/m\u00b3, " + (density < 1.13 ? "thin: hot or high" : density > 1.26 ? "dense: cold" : "usual");
    var down = force(set, "downforce", places, pressure), drag = force(set, "drag", places, pressure);
    var margin = read(set.stall_margin_deg, places), off = table.roof_off_deg, half = table.roof_band_deg;
    get("margin-out").textContent = margin === null ? "not known" : (read(set.least_left, places) ? ">" : "") + tenths(margin - off) + "\u00b0" +
      (off ? " (" + tenths(off) + "\u00b0 taken off: roof not measured)" : "");
    bar("margin", margin === null ? null : margin - off, margin - off - half, margin + half);
    var told = words(set.status, places), beyond = table.advised && (set.end_deg === null || angle > set.end_deg);
    get("tab-warn").hidden = Number(get("tab").value) <= Number(get("tab").defaultValue);
    get("status-out").textContent = beyond
      ? "beyond the end: keep off" + (told === "converged" ? "" : "; " + told)
      : told.replace(/^converged$/, table.reliable);
    car(set, places, angle, pressure, down, drag);
    section(angle, margin !== null && margin <= 0);
    get("stalled").textContent = margin !== null && margin <= 0 ? "stalled: the flow separates" : "";
    var ends = table.ruler_deg, x = 14 + 312 * Math.min(1, Math.max(0, (angle - ends[0]) / (ends[1] - ends[0])));
    get("ruler-marker").setAttribute("d", "M" + x.toFixed(1) + " 60l-6 -30h12Z");
  }
  ["angle", "tab", "speed", "air"].forEach(function (id) { get(id).addEventListener("input", show); });
  addEventListener("beforeprint", function () {  // for browsers that do not know ::details-content
    document.querySelectorAll("details").forEach(function (part) { part.open = true; });
  });
  get("try").hidden = false;
  show();
}());
