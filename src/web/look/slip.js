// Extras of the bench page: every page works without them. Drafts, unit chips that remember,
// stopwatch and pulse counter at the start watch, word of other phones, the print button.
// Nothing leaves this machine but the question how many entries the job has.
"use strict";
(() => {
  const store = {
    get(key) { try { return localStorage.getItem(key); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, value); } catch { /* private window */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* private window */ } },
  };
  const says = document.getElementById("says");
  const make = (name, text) => {
    const one = document.createElement(name);
    one.textContent = text;
    return one;
  };
  const button = (text, press) => {
    const one = make("button", text);
    one.type = "button";
    one.addEventListener("click", press);
    return one;
  };

  // Drafts: what is typed is kept in this browser until it was saved.
  const pending = store.get("pending");
  if (pending && !document.querySelector(".wrong")) {
    store.drop(pending);
    store.drop("pending");
  }
  for (const form of document.querySelectorAll("form[data-draft]")) {
    const check = form.querySelector("input[name=check]");
    const key = "draft/" + form.dataset.draft + (check ? "/" + check.value : "");
    const texts = [...form.querySelectorAll("input[type=text], textarea")];
    const taps = [...form.querySelectorAll("input[type=radio], input[type=checkbox]")]
      .filter((tap) => !tap.closest("[data-units]"));
    let kept = {};
    try { kept = JSON.parse(store.get(key) || "{}"); } catch { kept = {}; }
    for (const text of texts) if (!text.value && kept[text.name]) text.value = kept[text.name];
    if (!document.querySelector(".wrong")) {
      // What the page itself has chosen stays chosen.
      const chosen = new Set(taps.filter((t) => t.defaultChecked && t.value).map((t) => t.name));
      for (const tap of taps) {
        if (kept[tap.name] === tap.value && !chosen.has(tap.name)) tap.checked = true;
      }
    }
    const keep = () => {
      const now = {};
      for (const text of texts) if (text.value) now[text.name] = text.value;
      for (const tap of taps) if (tap.checked && tap.value) now[tap.name] = tap.value;
      store.set(key, JSON.stringify(now));
    };
    for (const field of [...texts, ...taps]) field.addEventListener("input", keep);
    form.addEventListener("submit", () => store.set("pending", key));
  }

  // Unit chips: the unit tapped last is tapped next time.
  for (const chips of document.querySelectorAll("fieldset[data-units]")) {
    const radios = [...chips.querySelectorAll("input[type=radio]")];
    const key = "unit/" + radios.map((r) => r.value).join(",");
    const last = radios.find((r) => r.value === store.get(key));
    const field = document.getElementById(chips.dataset.units);
    if (last && field && !field.value) last.checked = true;
    chips.addEventListener("change", (e) => store.set(key, e.target.value));
  }

  // A stopwatch beside a time that is to be read.
  const seconds = document.querySelector("fieldset[data-units=value] input[value=s]");
  if (seconds) {
    const field = document.getElementById("value");
    const shown = make("output", "0.0 s");
    let from = 0;
    let turning = 0;
    const press = button("Start the watch", () => {
      const now = (performance.now() - from) / 1000;
      if (turning) {
        clearInterval(turning);
        turning = 0;
        shown.textContent = now.toFixed(1) + " s";
        field.value = now.toFixed(1);
        seconds.checked = true;
        field.dispatchEvent(new Event("input"));
        press.textContent = "Start the watch";
        return;
      }
      from = performance.now();
      press.textContent = "Stop: it is there";
      turning = setInterval(() => {
        shown.textContent = ((performance.now() - from) / 1000).toFixed(1) + " s";
      }, 100);
    });
    const tool = document.createElement("div");
    tool.className = "tool";
    tool.append(make("p", "Stopwatch"), shown, press);
    field.closest(".field").before(tool);
  }

  // Stopwatch and pulse counter.
  const watch = document.querySelector(".watch");
  if (watch) {
    watch.hidden = false;
    const clock = document.createElement("div");
    clock.className = "tool";
    const shown = make("output", "0.0 s");
    const laps = make("ol", "");
    laps.className = "laps";
    let from = 0;
    let ran = 0;
    let turning = 0;
    const seconds = () => (performance.now() - from) / 1000;
    const steps = ["Cranking", "First fire", "Runs", "Runs even"];
    const asks = ["Start: it cranks", "Tap at the first fire", "Tap when it runs", "Tap when it runs even"];
    let step = 0;
    const put = (name, value) => {
      const field = document.getElementById(name);
      if (field) {
        field.value = value;
        field.dispatchEvent(new Event("input"));
      }
    };
    const main = button(asks[0], () => {
      if (step === 0) {
        clearInterval(turning);
        from = performance.now();
        laps.textContent = "";
        turning = setInterval(() => {
          const t = seconds();
          shown.textContent = t.toFixed(1) + " s";
          if (step < 3 && t > 15) {
            says.textContent = "15 s of cranking: stop, and let the starter rest 2 minutes.";
            says.dataset.cranking = "yes";
          }
        }, 100);
      } else {
        laps.append(make("li", steps[step] + ": " + seconds().toFixed(1) + " s"));
        if (step === 2) {
          ran = seconds();
          put("sign.crank_time.seconds", ran.toFixed(1));
          if (says.dataset.cranking) {
            says.textContent = "";
            delete says.dataset.cranking;
          }
        }
        // From running to running even: the cranking before it does not count.
        if (step === 3) put("sign.time_to_even.seconds", (seconds() - ran).toFixed(1));
      }
      step += 1;
      if (step === steps.length) {
        clearInterval(turning);
        step = 0;
      }
      main.textContent = asks[step];
    });
    // After a quarter of a minute of cranking the starter rests for two minutes.
    const rest = () => {
      const until = performance.now() + 120000;
      turning = setInterval(() => {
        const left = Math.ceil((until - performance.now()) / 1000);
        shown.textContent = left > 0 ? "rest " + left + " s" : "rested";
        if (left <= 0) clearInterval(turning);
      }, 200);
    };
    const stop = button("Stop the watch", () => {
      const cranked = step > 0 && step < 3 ? seconds() : 0;
      clearInterval(turning);
      if (says.dataset.cranking) {
        says.textContent = "";
        delete says.dataset.cranking;
      }
      step = 0;
      main.textContent = asks[0];
      if (cranked > 15) rest();
    });
    clock.append(make("h2", "Stopwatch"), shown, main, stop, laps);

    const counter = document.createElement("div");
    counter.className = "tool";
    const speed = make("output", "– rpm");
    const cylinders = Number(watch.dataset.cylinders);
    let taps = [];
    const tap = button("Tap once a puff", () => {
      taps.push(performance.now());
      if (taps.length < 3) return;
      const span = (taps[taps.length - 1] - taps[0]) / 1000;
      const gaps = taps.slice(1).map((t, i) => t - taps[i]);
      const middle = [...gaps].sort((a, b) => a - b)[Math.floor(gaps.length / 2)];
      const uneven = gaps.some((g) => g > 1.5 * middle);
      // Four-stroke: one puff a cylinder every two turns.
      const rpm = (120 * (taps.length - 1)) / (cylinders * span);
      speed.textContent = (cylinders ? rpm.toFixed(0) + " rpm" : (60 * (taps.length - 1) / span).toFixed(0) + " puffs a minute")
        + (uneven ? ", uneven" : "");
      if (cylinders) {
        write.hidden = false;
        write.href = location.pathname.replace(/(start|cold)$/, "reading") + "?check=crank_rpm_by_ear&value=" + rpm.toFixed(0);
      }
    });
    const write = make("a", "Write it down");
    write.className = "key";
    write.hidden = true;
    const again = button("Count again", () => {
      taps = [];
      speed.textContent = "– rpm";
    });
    counter.append(make("h2", "Pulse counter"), make("p", "Tap once for each puff while it cranks."), speed, tap, write, again);
    watch.append(clock, counter);
  }

  // Word of other phones.
  const head = document.querySelector("[data-job]");
  if (head && window.fetch) {
    const known = Number(head.dataset.entries);
    const look = async () => {
      if (document.hidden) return;
      try {
        const answer = await fetch(head.dataset.job, { credentials: "same-origin" });
        const now = Number(await answer.text());
        if (says.dataset.away) {
          says.textContent = "";
          delete says.dataset.away;
        }
        if (answer.ok && now > known) says.textContent = "Another phone wrote " + (now - known) + " more. Open the slip again to see it.";
      } catch {
        says.dataset.away = "yes";
        says.textContent = "The bench is out of reach. What you type is kept in this browser; save when it is back.";
      }
    };
    setInterval(look, 15000);
  }

  // A page that is being reckoned looks again by itself.
  const again = document.querySelector("[data-again]");
  if (again) setTimeout(() => location.reload(), Number(again.dataset.again));

  for (const print of document.querySelectorAll(".print")) {
    print.hidden = false;
    print.addEventListener("click", () => window.print());
  }
})();
