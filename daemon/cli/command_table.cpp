#include "daemon/cli/command_table.h"

#include <string>

namespace endgate::daemon {

void add_config(CLI::App& app, std::filesystem::path& config) {
  app.add_option("--config", config, "Folder with service.toml, benches/, models/ ...")
      ->type_name("DIR")
      ->envname("ENDGATE_CONFIG");
}

void need_config(CLI::App& app, std::filesystem::path& config) {
  add_config(app, config);
  app.get_option("--config")->required();
}

void add_store(CLI::App& app, StorePlace& store) {
  app.add_option("--data", store.data, "Folder of the store; or --config")->type_name("DIR");
  add_config(app, store.config);
}

void add_tests(CLI::App& app, TestsAsked& asked) {
  app.add_option("--model", asked.model, "Model")->required()->type_name("MODEL");
  app.add_option("--bench", asked.bench, "Only this bench")->type_name("BENCH");
  app.add_option("--batch", asked.batch, "Only this batch")->type_name("BATCH");
  app.add_option("--since", asked.since,
                 "From this day on, YYYY-MM-DD, by the clock of this machine")
      ->type_name("DATE");
  app.add_option("--until", asked.until, "Up to and with this day")->type_name("DATE");
  app.add_option("--lot", asked.lot, "Only units with this lot of parts: LOT or PART=LOT")
      ->type_name("LOT");
}

void add_metric(CLI::App& app, TestsAsked& asked) {
  app.add_option("metric", asked.metric, "Metric, such as fad_400: free-air delivery at 400 kPa")
      ->required()
      ->check([](const std::string& id) { return id.empty() ? "name a metric" : ""; });
  add_purpose(app, asked);
}

void add_purpose(CLI::App& app, TestsAsked& asked) {
  app.add_option("--purpose", asked.purpose, "production unless told; all for every test")
      ->type_name("PURPOSE");
}

}  // namespace endgate::daemon
