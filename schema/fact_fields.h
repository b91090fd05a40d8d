// In which order are the fields of each fact sealed?  Frozen; schema/README.md shows the same
// lists.

#pragma once

#include "schema/canonical.h"
#include "schema/facts.h"

namespace endgate::schema {

template <>
inline constexpr auto kFields<WallClock> =
    std::tuple{Field{"utc_ms", &WallClock::utc_ms}, Field{"synchronised", &WallClock::synchronised},
               Field{"max_error_us", &WallClock::max_error_us}};

template <>
inline constexpr auto kFields<StoreOpened> = std::tuple{
    Field{"store_id", &StoreOpened::store_id}, Field{"public_key", &StoreOpened::public_key},
    Field{"restored_from", &StoreOpened::restored_from},
    Field{"restored_to_position", &StoreOpened::restored_to_position},
    Field{"at", &StoreOpened::at}};

template <>
inline constexpr auto kFields<Definition> =
    std::tuple{Field{"kind", &Definition::kind},
               Field{"subject", &Definition::subject},
               Field{"version", &Definition::version},
               Field{"text", &Definition::text},
               Field{"text_sha256", &Definition::text_sha256},
               Field{"by", &Definition::by},
               Field{"why", &Definition::why},
               Field{"at", &Definition::at},
               Field{"second_by", &Definition::second_by}};
template <>
inline constexpr std::size_t kFieldsAtFirst<Definition> = 8;

template <>
inline constexpr auto kFields<TestStart> = std::tuple{
    Field{"serial", &TestStart::serial}, Field{"attempt", &TestStart::attempt},
    Field{"model", &TestStart::model},   Field{"bench", &TestStart::bench},
    Field{"batch", &TestStart::batch},   Field{"purpose", &TestStart::purpose},
    Field{"reason", &TestStart::reason}, Field{"operator_name", &TestStart::operator_name},
    Field{"at", &TestStart::at},         Field{"software", &TestStart::software}};

template <>
inline constexpr auto kFields<UncertaintyPart> =
    std::tuple{Field{"cause", &UncertaintyPart::cause}, Field{"u", &UncertaintyPart::u}};

template <>
inline constexpr auto kFields<MetricValue> =
    std::tuple{Field{"id", &MetricValue::id},
               Field{"value", &MetricValue::value},
               Field{"u", &MetricValue::u},
               Field{"parts", &MetricValue::parts},
               Field{"extrapolated", &MetricValue::extrapolated},
               Field{"missing_reason", &MetricValue::missing_reason}};

template <>
inline constexpr auto kFields<BandAsWas> =
    std::tuple{Field{"gauge_pa", &BandAsWas::gauge_pa}, Field{"lower", &BandAsWas::lower},
               Field{"upper", &BandAsWas::upper},       Field{"flow_m3_s", &BandAsWas::flow_m3_s},
               Field{"u_m3_s", &BandAsWas::u_m3_s},     Field{"outcome", &BandAsWas::outcome}};

template <>
inline constexpr auto kFields<LimitAsWas> = std::tuple{Field{"metric", &LimitAsWas::metric},
                                                       Field{"lower", &LimitAsWas::lower},
                                                       Field{"upper", &LimitAsWas::upper},
                                                       Field{"pass_band", &LimitAsWas::pass_band},
                                                       Field{"fail_band", &LimitAsWas::fail_band},
                                                       Field{"warn", &LimitAsWas::warn},
                                                       Field{"outcome", &LimitAsWas::outcome},
                                                       Field{"margin", &LimitAsWas::margin},
                                                       Field{"sentence", &LimitAsWas::sentence},
                                                       Field{"value", &LimitAsWas::value},
                                                       Field{"u", &LimitAsWas::u},
                                                       Field{"gauge_pa", &LimitAsWas::gauge_pa},
                                                       Field{"band", &LimitAsWas::band}};
template <>
inline constexpr std::size_t kFieldsAtFirst<LimitAsWas> = 9;

template <>
inline constexpr auto kFields<ReasonGiven> =
    std::tuple{Field{"code", &ReasonGiven::code}, Field{"subject", &ReasonGiven::subject},
               Field{"sentence", &ReasonGiven::sentence}};

template <>
inline constexpr auto kFields<DrawnPoint> = std::tuple{
    Field{"gauge_pa", &DrawnPoint::gauge_pa}, Field{"flow_m3_s", &DrawnPoint::flow_m3_s},
    Field{"u_m3_s", &DrawnPoint::u_m3_s}, Field{"extrapolated", &DrawnPoint::extrapolated}};

template <>
inline constexpr auto kFields<CurveAsFitted> =
    std::tuple{Field{"a_m3", &CurveAsFitted::a_m3},
               Field{"b_m3", &CurveAsFitted::b_m3},
               Field{"leak_m3_s", &CurveAsFitted::leak_m3_s},
               Field{"exponent", &CurveAsFitted::exponent},
               Field{"covariance", &CurveAsFitted::covariance},
               Field{"ratio_min", &CurveAsFitted::ratio_min},
               Field{"ratio_max", &CurveAsFitted::ratio_max},
               Field{"chi_square", &CurveAsFitted::chi_square},
               Field{"degrees_of_freedom", &CurveAsFitted::degrees_of_freedom},
               Field{"contradicted", &CurveAsFitted::contradicted}};

template <>
inline constexpr auto kFields<PointAsReduced> =
    std::tuple{Field{"step_id", &PointAsReduced::step_id},
               Field{"target_gauge_pa", &PointAsReduced::target_gauge_pa},
               Field{"window_start_us", &PointAsReduced::window_start_us},
               Field{"window_end_us", &PointAsReduced::window_end_us},
               Field{"discharge_pressure_abs_pa", &PointAsReduced::discharge_pressure_abs_pa},
               Field{"inlet_pressure_abs_pa", &PointAsReduced::inlet_pressure_abs_pa},
               Field{"flow_inlet_m3_s", &PointAsReduced::flow_inlet_m3_s},
               Field{"flow_u_random_m3_s", &PointAsReduced::flow_u_random_m3_s},
               Field{"storage_m3_s", &PointAsReduced::storage_m3_s},
               Field{"speed_rev_s", &PointAsReduced::speed_rev_s},
               Field{"speed_u_random_rev_s", &PointAsReduced::speed_u_random_rev_s},
               Field{"supply_current_a", &PointAsReduced::supply_current_a},
               Field{"current_u_random_a", &PointAsReduced::current_u_random_a},
               Field{"supply_voltage_v", &PointAsReduced::supply_voltage_v},
               Field{"head_temperature_k", &PointAsReduced::head_temperature_k},
               Field{"case_temperature_k", &PointAsReduced::case_temperature_k},
               Field{"inlet_temperature_k", &PointAsReduced::inlet_temperature_k},
               Field{"relative_humidity", &PointAsReduced::relative_humidity},
               Field{"drift_rel", &PointAsReduced::drift_rel},
               Field{"steady", &PointAsReduced::steady},
               Field{"note", &PointAsReduced::note}};

template <>
inline constexpr auto kFields<HealthAsFound> =
    std::tuple{Field{"channel", &HealthAsFound::channel}, Field{"state", &HealthAsFound::state},
               Field{"detail", &HealthAsFound::detail}, Field{"time_us", &HealthAsFound::time_us}};

template <>
inline constexpr auto kFields<CauseStated> =
    std::tuple{Field{"causes", &CauseStated::causes},
               Field{"name", &CauseStated::name},
               Field{"probability", &CauseStated::probability},
               Field{"of_bench", &CauseStated::of_bench},
               Field{"evidence", &CauseStated::evidence},
               Field{"told_apart_by", &CauseStated::told_apart_by}};

template <>
inline constexpr auto kFields<Record> =
    std::tuple{Field{"start_position", &Record::start_position},
               Field{"start", &Record::start},
               Field{"verdict", &Record::verdict},
               Field{"standing", &Record::standing},
               Field{"standing_reason", &Record::standing_reason},
               Field{"would_have_been", &Record::would_have_been},
               Field{"reasons", &Record::reasons},
               Field{"likely_cause", &Record::likely_cause},
               Field{"cycle_s", &Record::cycle_s},
               Field{"break_off", &Record::break_off},
               Field{"metrics", &Record::metrics},
               Field{"limits", &Record::limits},
               Field{"points", &Record::points},
               Field{"curve", &Record::curve},
               Field{"curve_refusal", &Record::curve_refusal},
               Field{"drawn", &Record::drawn},
               Field{"health", &Record::health},
               Field{"context_ids", &Record::context_ids},
               Field{"context_bytes", &Record::context_bytes},
               Field{"trace_sha256", &Record::trace_sha256},
               Field{"trace_file", &Record::trace_file},
               Field{"finished", &Record::finished},
               Field{"software", &Record::software},
               Field{"simulated", &Record::simulated},
               Field{"causes", &Record::causes},
               Field{"class_reached", &Record::class_reached}};
template <>
inline constexpr std::size_t kFieldsAtFirst<Record> = 25;

template <>
inline constexpr auto kFields<Repair> =
    std::tuple{Field{"serial", &Repair::serial}, Field{"finding", &Repair::finding},
               Field{"parts", &Repair::parts}, Field{"by", &Repair::by}, Field{"at", &Repair::at}};

template <>
inline constexpr auto kFields<BenchEvent> =
    std::tuple{Field{"bench", &BenchEvent::bench}, Field{"code", &BenchEvent::code},
               Field{"text", &BenchEvent::text}, Field{"at", &BenchEvent::at}};

template <>
inline constexpr auto kFields<PartLot> =
    std::tuple{Field{"part", &PartLot::part}, Field{"lot", &PartLot::lot}};

template <>
inline constexpr auto kFields<Lots> = std::tuple{Field{"subject_kind", &Lots::subject_kind},
                                                 Field{"subject", &Lots::subject},
                                                 Field{"parts", &Lots::parts},
                                                 Field{"source", &Lots::source},
                                                 Field{"by", &Lots::by},
                                                 Field{"at", &Lots::at}};

template <>
inline constexpr auto kFields<Disposition> = std::tuple{
    Field{"serial", &Disposition::serial},       Field{"decision", &Disposition::decision},
    Field{"reason", &Disposition::reason},       Field{"by", &Disposition::by},
    Field{"second_by", &Disposition::second_by}, Field{"at", &Disposition::at}};

template <>
inline constexpr auto kFields<ReturnIntake> =
    std::tuple{Field{"serial", &ReturnIntake::serial},
               Field{"complaint", &ReturnIntake::complaint},
               Field{"condition", &ReturnIntake::condition},
               Field{"months_in_use", &ReturnIntake::months_in_use},
               Field{"hours_in_use", &ReturnIntake::hours_in_use},
               Field{"by", &ReturnIntake::by},
               Field{"at", &ReturnIntake::at}};

template <>
inline constexpr auto kFields<Alarm> = std::tuple{
    Field{"opened", &Alarm::opened}, Field{"bench", &Alarm::bench},   Field{"code", &Alarm::code},
    Field{"state", &Alarm::state},   Field{"text", &Alarm::text},     Field{"owner", &Alarm::owner},
    Field{"cause", &Alarm::cause},   Field{"action", &Alarm::action}, Field{"by", &Alarm::by},
    Field{"at", &Alarm::at}};

template <>
inline constexpr auto kFields<ImportedTest> =
    std::tuple{Field{"source", &ImportedTest::source},
               Field{"line", &ImportedTest::line},
               Field{"serial", &ImportedTest::serial},
               Field{"model", &ImportedTest::model},
               Field{"bench", &ImportedTest::bench},
               Field{"batch", &ImportedTest::batch},
               Field{"purpose", &ImportedTest::purpose},
               Field{"verdict", &ImportedTest::verdict},
               Field{"tested_utc_ms", &ImportedTest::tested_utc_ms},
               Field{"metrics", &ImportedTest::metrics},
               Field{"by", &ImportedTest::by},
               Field{"at", &ImportedTest::at},
               Field{"why", &ImportedTest::why},
               Field{"file_sha256", &ImportedTest::file_sha256},
               Field{"attempt", &ImportedTest::attempt},
               Field{"cycle_s", &ImportedTest::cycle_s},
               Field{"reasons", &ImportedTest::reasons},
               Field{"likely_cause", &ImportedTest::likely_cause}};
template <>
inline constexpr std::size_t kFieldsAtFirst<ImportedTest> = 12;

template <>
inline constexpr auto kFields<TraceRemoved> =
    std::tuple{Field{"record", &TraceRemoved::record},
               Field{"trace_sha256", &TraceRemoved::trace_sha256},
               Field{"trace_file", &TraceRemoved::trace_file},
               Field{"policy", &TraceRemoved::policy},
               Field{"by", &TraceRemoved::by},
               Field{"at", &TraceRemoved::at}};

template <>
inline constexpr auto kFields<BenchCheck> = std::tuple{Field{"bench", &BenchCheck::bench},
                                                       Field{"kind", &BenchCheck::kind},
                                                       Field{"subject", &BenchCheck::subject},
                                                       Field{"measured", &BenchCheck::measured},
                                                       Field{"expected", &BenchCheck::expected},
                                                       Field{"outcome", &BenchCheck::outcome},
                                                       Field{"text", &BenchCheck::text},
                                                       Field{"by", &BenchCheck::by},
                                                       Field{"at", &BenchCheck::at}};

template <>
inline constexpr auto kFields<Withdrawal> =
    std::tuple{Field{"withdrawn", &Withdrawal::withdrawn}, Field{"why", &Withdrawal::why},
               Field{"by", &Withdrawal::by}, Field{"second_by", &Withdrawal::second_by},
               Field{"at", &Withdrawal::at}};

}  // namespace endgate::schema
