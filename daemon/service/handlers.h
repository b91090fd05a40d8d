// The handlers behind the table of routes, one function per route.

#pragma once

#include "daemon/line/application.h"
#include "daemon/service/message.h"

namespace endgate::daemon::handle {

// api_line.cpp: what the benches do now, and commands to them
void benches(Application&, const Request&, const Reply&);
void bench(Application&, const Request&, const Reply&);
void scan(Application&, const Request&, const Reply&);
void start(Application&, const Request&, const Reply&);
void stop(Application&, const Request&, const Reply&);
void clear(Application&, const Request&, const Reply&);
void take_bench(Application&, const Request&, const Reply&);
void accept(Application&, const Request&, const Reply&);
void live(Application&, const Request&, const Reply&);
void health(Application&, const Request&, const Reply&);
void alive(Application&, const Request&, const Reply&);
void ready(Application&, const Request&, const Reply&);

// api_store.cpp: what is kept
void unit(Application&, const Request&, const Reply&);
void standing(Application&, const Request&, const Reply&);
void attempt(Application&, const Request&, const Reply&);
void trace(Application&, const Request&, const Reply&);
void trend(Application&, const Request&, const Reply&);

// api_population.cpp: what all units of a model say together
void trend_batches(Application&, const Request&, const Reply&);
void trend_together(Application&, const Request&, const Reply&);
void capability(Application&, const Request&, const Reply&);
void yield(Application&, const Request&, const Reply&);
void returns(Application&, const Request&, const Reply&);
void what_if(Application&, const Request&, const Reply&);

// studies.cpp: how much of it is the measurement, what a data sheet may promise
void gauge(Application&, const Request&, const Reply&);
void gauge_page(Application&, const Request&, const Reply&);
void rating(Application&, const Request&, const Reply&);
void rating_page(Application&, const Request&, const Reply&);

// lab.cpp: units side by side, one unit as it runs
void compare(Application&, const Request&, const Reply&);
void compare_page(Application&, const Request&, const Reply&);
void endurance(Application&, const Request&, const Reply&);
void endurance_page(Application&, const Request&, const Reply&);

// api_upkeep.cpp: alarms, checks and calibrations
void alarms(Application&, const Request&, const Reply&);
void answer_alarm(Application&, const Request&, const Reply&);
void checks(Application&, const Request&, const Reply&);
void enter_check(Application&, const Request&, const Reply&);
void calibrate(Application&, const Request&, const Reply&);

// api_unit_facts.cpp: what people know of a unit or decide about it
void enter_fact(Application&, const Request&, const Reply&);

// api_exchange.cpp: results as files, out and in; lots in
void export_results(Application&, const Request&, const Reply&);
void import_results(Application&, const Request&, const Reply&);
void import_lots(Application&, const Request&, const Reply&);

// pages_upkeep.cpp
void benches_page(Application&, const Request&, const Reply&);
void bench_page(Application&, const Request&, const Reply&);
void calibrate_page(Application&, const Request&, const Reply&);
void alarms_page(Application&, const Request&, const Reply&);

// limits.cpp: limits and control limits as they were, and how surely whole units are judged
void limits(Application&, const Request&, const Reply&);
void limits_page(Application&, const Request&, const Reply&);
void control(Application&, const Request&, const Reply&);
void control_page(Application&, const Request&, const Reply&);
void risk(Application&, const Request&, const Reply&);
void risk_page(Application&, const Request&, const Reply&);

// traced.cpp: forward from a lot of parts to its units
void lot(Application&, const Request&, const Reply&);
void lot_page(Application&, const Request&, const Reply&);

// pages_statistics.cpp
void trends_page(Application&, const Request&, const Reply&);
void population_page(Application&, const Request&, const Reply&);

// pages.cpp
void line_page(Application&, const Request&, const Reply&);
void units_page(Application&, const Request&, const Reply&);
void unit_page(Application&, const Request&, const Reply&);
void import_page(Application&, const Request&, const Reply&);
void file(Application&, const Request&, const Reply&);

}  // namespace endgate::daemon::handle
