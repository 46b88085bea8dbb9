#include "output/report/fields.hpp"

#include <fmt/format.h>

#include <array>
#include <functional>
#include <optional>
#include <stdexcept>
#include <type_traits>

#include "platetally/account.hpp"

namespace platetally::report {

namespace {

template <typename Member>
struct OwnerOf;
template <typename Owner, typename Type>
struct OwnerOf<Type Owner::*> {
  using type = Owner;
};

/// The object a member pointer is applied to: the account, its totals, or a row of its lists.
template <typename Owner>
const Owner& owner(const Account& account, std::size_t row) {
  if constexpr (std::is_same_v<Owner, Account>)
    return account;
  else if constexpr (std::is_same_v<Owner, Totals>)
    return account.totals;
  else if constexpr (std::is_same_v<Owner, TimeBandCause>)
    return account.totals.time_band[row];
  else if constexpr (std::is_same_v<Owner, TowerAccount>)
    return account.tower;
  else if constexpr (std::is_same_v<Owner, ToolAccount>)
    return account.tools[row];
  else if constexpr (std::is_same_v<Owner, SwapPairAccount>)
    return account.swap_pairs[row];
  else if constexpr (std::is_same_v<Owner, BedZoneAccount>)
    return account.bed_zones[row];
  else if constexpr (std::is_same_v<Owner, LayerAccount>)
    return account.layers[row];
  else if constexpr (std::is_same_v<Owner, ObjectAccount>)
    return account.objects[row];
  else if constexpr (std::is_same_v<Owner, Finding>)
    return account.findings[row];
  else if constexpr (std::is_same_v<Owner, Diagnostic>)
    return account.diagnostics[row];
  else if constexpr (std::is_same_v<Owner, LimitWord>)
    return account.limits_read[row];
  else if constexpr (std::is_same_v<Owner, Verdict>)
    return account.verdict;
  else if constexpr (std::is_same_v<Owner, VerdictReason>)
    return account.verdict.reasons[row];
  else if constexpr (std::is_same_v<Owner, WhatIf>)
    return account.what_if;
  else if constexpr (std::is_same_v<Owner, ReadingAccount>)
    return account.reading;
  else if constexpr (std::is_same_v<Owner, MissingTool>)
    return account.missing_tools[row];
  else if constexpr (std::is_same_v<Owner, StatedFigure>)
    return account.stated[row];
  else if constexpr (std::is_same_v<Owner, Stop>)
    return account.stops[row];
  else
    return account.unaccounted[row];
}

Value to_value(double value) {
  return value;
}
Value to_value(std::uint64_t value) {
  return value;
}
Value to_value(int value) {
  return static_cast<std::int64_t>(value);
}
Value to_value(bool value) {
  return static_cast<std::uint64_t>(value);
}
Value to_value(const std::string& value) {
  return value;
}
Value to_value(Grade value) {
  return std::string(name_of(value));
}
Value to_value(Severity value) {
  return std::string(name_of(value));
}
Value to_value(const std::optional<double>& value) {
  return value ? Value(*value) : Value();
}
template <typename Integer>
Value to_value(const std::vector<Integer>& values) {
  return std::vector<std::int64_t>(values.begin(), values.end());
}

template <auto First>
decltype(auto) follow(const auto& from) {
  return std::invoke(First, from);
}
template <auto First, auto Second, auto... Rest>
decltype(auto) follow(const auto& from) {
  return follow<Second, Rest...>(std::invoke(First, from));
}

template <auto First, auto... Rest>
Value get(const Account& account, std::size_t row) {
  using Owner = typename OwnerOf<decltype(First)>::type;
  return to_value(follow<First, Rest...>(owner<Owner>(account, row)));
}

template <auto First, auto... Rest>
constexpr Shape shape_of() {
  using Owner = typename OwnerOf<decltype(First)>::type;
  using Type = std::remove_cvref_t<decltype(follow<First, Rest...>(std::declval<const Owner&>()))>;
  if constexpr (std::is_same_v<Type, std::optional<double>>)
    return Shape::number_or_null;
  else if constexpr (std::is_floating_point_v<Type>)
    return Shape::number;
  else if constexpr (std::is_unsigned_v<Type>)  // and a flag, which is 0 or 1
    return Shape::count;
  else if constexpr (std::is_integral_v<Type>)
    return Shape::integer;
  else if constexpr (std::is_same_v<Type, std::string> || std::is_enum_v<Type>)
    return Shape::text;
  else
    return Shape::integers;
}

/// Path: pointers to members, from the owner inwards.
template <auto... Path>
constexpr Field row(std::string_view key, std::string_view unit, std::string_view title,
                    std::string_view note = "") {
  return {key, unit, title, note, shape_of<Path...>(), &get<Path...>};
}

/// A member of the cost, absent without prices.
template <auto Member>
constexpr Field cost_row(std::string_view key, std::string_view title, std::string_view note = "") {
  return {key,
          "",
          title,
          note,
          Shape::number_or_null,
          [](const Account& account, std::size_t) -> Value {
            return account.cost ? Value(std::invoke(Member, *account.cost)) : Value();
          }};
}

/// A member of the clock, empty without a start.
template <auto Member>
constexpr Field clock_row(std::string_view key, std::string_view title,
                          std::string_view note = "") {
  return {key, "", title, note, Shape::text, [](const Account& account, std::size_t) -> Value {
            return account.clock ? Value(std::invoke(Member, *account.clock))
                                 : Value(std::string());
          }};
}

constexpr auto kTimeBy = &Totals::time_by;
constexpr auto kEnergyBy = &Totals::energy_by;
constexpr auto kPurgeBy = &Totals::purge_by;
constexpr auto kLayerTimeBy = &LayerAccount::time_by;
constexpr auto kLayerEnergyBy = &LayerAccount::energy_by;
constexpr auto kObjectTimeBy = &ObjectAccount::time_by;

constexpr std::array kJob{
    row<&Account::path>("path", "", "plate", "as it was named; bytes that are no UTF-8 replaced"),
    row<&Account::bytes>("bytes", "B", "size", "after unpacking, if the file is packed"),
    row<&Account::lines>("lines", "", "lines"),
    row<&WhatIf::changes>("what_if", "", "what if", "what is not as in the file; empty: nothing"),
    row<&WhatIf::assumed>("assumed", "", "assumed", "what that stands on"),
};

constexpr std::array kClock{
    clock_row<&Clock::start>("start", "start",
                             "as asked for; empty without --start, as the others"),
    clock_row<&Clock::first_layer>("first_layer", "first layer", "when it begins"),
    clock_row<&Clock::done>("done", "done", "as expected"),
    clock_row<&Clock::done_early>("done_early", "done at the earliest"),
    clock_row<&Clock::done_late>("done_late", "done at the latest"),
    Field{"unattended_s", "s", "with nobody there", "outside the prices file's attended hours",
          Shape::number_or_null,
          [](const Account& account, std::size_t) -> Value {
            return account.clock && account.clock->unattended_s
                       ? Value(*account.clock->unattended_s)
                       : Value();
          }},
    Field{"stops", "", "stops", "pauses and manual changes, with or without --start", Shape::count,
          [](const Account& account, std::size_t) -> Value {
            return account.totals.pauses + account.totals.manual_changes;
          }},
    Field{"stops_unattended", "", "stops with nobody there",
          "of those listed; null without --start and attended hours", Shape::number_or_null,
          [](const Account& account, std::size_t) -> Value {
            return account.clock && account.clock->stops_unattended
                       ? Value(*account.clock->stops_unattended)
                       : Value();
          }},
    clock_row<&Clock::done_attended>(
        "done_attended", "done, attended",
        "if every stop waits until somebody is there; empty without stops or attended hours, and "
        "where not all stops are listed"),
};

constexpr std::array kStops{
    row<&Stop::what>("what", "", "what", "pause or manual-change (of filament, by a person)"),
    row<&Stop::layer>("layer", "", "layer", "that it interrupts or leads to"),
    row<&Stop::line>("line", "", "line", "of the word that asks for it"),
    row<&Stop::tool>("tool", "", "tool", "whose filament is put in; -1: a pause"),
    row<&Stop::after, &Range::expected>("after_s", "s", "after",
                                        "from the first line on, heat waits included"),
    row<&Stop::after, &Range::low>("after_low_s", "s", "after, low",
                                   "with the band of all that comes before it"),
    row<&Stop::after, &Range::high>("after_high_s", "s", "after, high"),
    row<&Stop::at>("at", "", "at", "by the wall clock; empty without --start, as the next two"),
    row<&Stop::at_early>("at_early", "", "at the earliest"),
    row<&Stop::at_late>("at_late", "", "at the latest"),
    Field{"unattended", "", "nobody there",
          "1: `at` is outside the prices file's attended hours; null without these or --start",
          Shape::number_or_null,
          [](const Account& account, std::size_t row) -> Value {
            const std::optional<bool>& unattended = account.stops[row].unattended;
            return unattended ? Value(static_cast<std::uint64_t>(*unattended)) : Value();
          }},
};

constexpr std::array kMachine{
    row<&Account::machine>("name", "", "machine"),
};

constexpr std::array kVerdict{
    row<&Verdict::grade>("grade", "", "verdict",
                         "ready, look (before you print) or cannot (be printed as it is)"),
};

constexpr std::array kReasons{
    row<&VerdictReason::code>("code", "", "reason"),
    row<&VerdictReason::grade>("grade", "", "grade",
                               "how good the verdict can be in spite of it; ready: not checked"),
    row<&VerdictReason::text>("text", "", "text"),
};

constexpr std::array kTotals{
    row<&Totals::time, &Range::expected>("time_s", "s", "machine time",
                                         "the sum of time_by, first to last line"),
    row<&Totals::time, &Range::low>("time_low_s", "s", "time, low",
                                    "motion, swaps, homing and probing at their quickest"),
    row<&Totals::time, &Range::high>("time_high_s", "s", "time, high",
                                     "motion, swaps, homing and probing at their slowest"),
    row<&Totals::time_of_print, &Range::expected>(
        "time_of_print_s", "s", "time of the print",
        "from the first extrusion to the end, swaps and dwell included, without heat waits, "
        "pauses, homing and probing wherever they lie: the span that print logs measure"),
    row<&Totals::time_of_print, &Range::low>("time_of_print_low_s", "s", "time of the print, low"),
    row<&Totals::time_of_print, &Range::high>("time_of_print_high_s", "s",
                                              "time of the print, high"),
    row<kTimeBy, &TimeBy::print_s>("time_by.print", "s", "print", "moves that lay part"),
    row<kTimeBy, &TimeBy::travel_s>("time_by.travel", "s", "travel", "moves that lay nothing"),
    row<kTimeBy, &TimeBy::swap_s>("time_by.swap", "s", "swaps",
                                  "the machine's own change, and motion that lays purge"),
    row<kTimeBy, &TimeBy::heat_wait_s>("time_by.heat_wait", "s", "heat waits",
                                       "standing still until something is hot or cool enough"),
    row<kTimeBy, &TimeBy::other_s>("time_by.other", "s", "other",
                                   "dwell, homing, probing, start and end, retraction at rest"),
    row<&Totals::pause_s>("pause_s", "s", "pauses",
                          "waiting for a person; contained in time_by.other"),
    row<&Totals::pauses>("pauses", "", "stops",
                         "that wait for a person: M0, M1, M600 and the like"),
    row<&Totals::layers>("layers", "", "layers", "heights at which part is laid, without layer 0"),
    row<&Totals::tool_selects>("tool_selects", "", "selections", "tool words met, repeats too"),
    row<&Totals::swaps>("swaps", "", "swaps",
                        "changes to a different tool after material has been laid"),
    row<&Totals::part_g>("part_g", "g", "part", "what stays in the printed parts"),
    row<&Totals::purge_g>("purge_g", "g", "purge", "pushed out because of swaps"),
    row<&Totals::purge_low_g>("purge_low_g", "g", "purge, low",
                              "what is purge beyond doubt, less past errors (--book)"),
    row<&Totals::purge_high_g>("purge_high_g", "g", "purge, high", "with all that may be purge"),
    row<kPurgeBy, &PurgeBy::at_rest_g>("purge_by.at_rest", "g", "fed at rest", "chute, bin"),
    row<kPurgeBy, &PurgeBy::place_g>("purge_by.place", "g", "off the part",
                                     "outside the build area or in a waste area"),
    row<kPurgeBy, &PurgeBy::comment_g>("purge_by.comment", "g", "marked as purge",
                                       "by a comment or a word of the machine's own"),
    row<kPurgeBy, &PurgeBy::tower_g>("purge_by.tower", "g", "on a prime tower",
                                     "found from the motion"),
    row<kPurgeBy, &PurgeBy::hidden_g>("purge_by.hidden", "g", "hidden",
                                      "run by the machine, not in the file"),
    row<&Totals::swaps_short>("swaps_short", "", "swaps short",
                              "that purge less than their colours need; null while those are not "
                              "known"),
    row<&Totals::purge_short_g>("purge_short_g", "g", "purge short", "what those swaps lack"),
    row<&Totals::start_up_g>("start_up_g", "g", "start-up",
                             "wasted before the first swap: purge lines, priming"),
    row<&Totals::energy_wh>("energy_wh", "Wh", "energy", "from the wall; the sum of energy_by"),
    row<&Totals::energy_low_wh>("energy_low_wh", "Wh", "energy, low",
                                "bands of the time at mean power and of the machine's description "
                                "(supply.energy_spread), and past errors (--book)"),
    row<&Totals::energy_high_wh>("energy_high_wh", "Wh", "energy, high"),
    row<kEnergyBy, &EnergyBy::bed_wh>("energy_by.bed", "Wh", "bed"),
    row<kEnergyBy, &EnergyBy::hot_ends_wh>("energy_by.hot_ends", "Wh", "hot ends"),
    row<kEnergyBy, &EnergyBy::enclosure_wh>("energy_by.enclosure", "Wh", "enclosure",
                                            "its own heater"),
    row<kEnergyBy, &EnergyBy::motors_wh>("energy_by.motors", "Wh", "motors"),
    row<kEnergyBy, &EnergyBy::fans_wh>("energy_by.fans", "Wh", "fans"),
    row<kEnergyBy, &EnergyBy::electronics_wh>("energy_by.electronics", "Wh", "electronics"),
    row<kEnergyBy, &EnergyBy::supply_loss_wh>("energy_by.supply_loss", "Wh", "supply loss",
                                              "lost between the wall and the consumers above"),
    row<&Totals::mean_power_w>("mean_power_w", "W", "mean power", "energy over machine time"),
    row<&Totals::peak_power_w>("peak_power_w", "W", "peak power", "highest draw in the simulation"),
    row<&Totals::peak_quarter_hour_w>("peak_quarter_hour_w", "W", "quarter-hour peak",
                                      "highest mean over 15 minutes"),
    row<&Totals::connected_load_w>("connected_load_w", "W", "connected load",
                                   "everything on at once, at full"),
    row<&Totals::bed_zones_used>("bed_zones_used", "", "bed zones used",
                                 "heated because something is printed above"),
    row<&Totals::energy_residual>("energy_residual", "", "book residual",
                                  "energy in - out - stored, as a share of in; zero but for "
                                  "rounding"),
    cost_row<&PlateCost::total>("cost", "cost", "the sum of cost_by; null without prices"),
    cost_row<&PlateCost::part_filament>("cost_by.part", "part filament"),
    cost_row<&PlateCost::purge_filament>("cost_by.purge", "purge filament", "start-up included"),
    cost_row<&PlateCost::energy>("cost_by.energy", "energy"),
    cost_row<&PlateCost::machine>("cost_by.machine", "machine", "price over life, maintenance"),
    cost_row<&PlateCost::labour>("cost_by.labour", "labour"),
    cost_row<&PlateCost::failures>("cost_by.failures", "failures", "expected"),
    cost_row<&PlateCost::drying>("cost_by.drying", "drying", "of the filament"),
    cost_row<&PlateCost::wear>("cost_by.wear", "wear", "by what goes through the nozzles"),
    cost_row<&PlateCost::per_good_part>("cost_per_good_part", "cost of a good part",
                                        "cost over --copies"),
};

constexpr std::array kTimeBand{
    row<&TimeBandCause::cause>("cause", "", "cause"),
    row<&TimeBandCause::below_s>("below_s", "s", "below", "expected less low"),
    row<&TimeBandCause::above_s>("above_s", "s", "above", "high less expected"),
};

constexpr std::array kTower{
    row<&TowerAccount::verdict>("verdict", "", "prime tower",
                                "no-swaps, none, tower or undecided; from the motion alone"),
    row<&TowerAccount::why>("why", "", "why"),
    row<&TowerAccount::x_min_mm>("x_min_mm", "mm", "left", "0 where there is none"),
    row<&TowerAccount::x_max_mm>("x_max_mm", "mm", "right"),
    row<&TowerAccount::y_min_mm>("y_min_mm", "mm", "front"),
    row<&TowerAccount::y_max_mm>("y_max_mm", "mm", "back"),
    row<&TowerAccount::laid_g>("laid_g", "g", "laid there",
                               "purge if the verdict is tower, perhaps if undecided"),
};

constexpr std::array kTools{
    row<&ToolAccount::tool>("tool", "", "tool", "the number after T"),
    row<&ToolAccount::colour>("colour", "", "colour", "as given; empty if it is not"),
    row<&ToolAccount::selects>("selects", "", "selected"),
    row<&ToolAccount::filament_mm>("filament_mm", "mm", "filament",
                                   "net feed: retractions and their returns cancel"),
    row<&ToolAccount::part_g>("part_g", "g", "part"),
    row<&ToolAccount::purge_g>("purge_g", "g", "purge"),
    row<&ToolAccount::start_up_g>("start_up_g", "g", "start-up"),
    row<&ToolAccount::to_have_g>("to_have_g", "g", "to have",
                                 "all that it lays, and the reserve; null without prices"),
    row<&ToolAccount::spools>("spools", "", "spools", "that hold it; null without spool_g"),
    row<&ToolAccount::active_s>("active_s", "s", "active"),
    row<&ToolAccount::standby_s>("standby_s", "s", "standby", "hot while another tool works"),
    row<&ToolAccount::energy_wh>("energy_wh", "Wh", "energy",
                                 "of its head while active or on standby, before supply loss"),
};

constexpr std::array kSwapPairs{
    row<&SwapPairAccount::from>("from", "", "from"),
    row<&SwapPairAccount::to>("to", "", "to"),
    row<&SwapPairAccount::count>("count", "", "swaps"),
    row<&SwapPairAccount::purge_g>("purge_g", "g", "purge"),
    row<&SwapPairAccount::needed_g>("needed_g", "g", "needed",
                                    "what the two colours need; null while they are not known"),
    row<&SwapPairAccount::purge_each_low_g>("purge_each_low_g", "g", "purge, least", "of one swap"),
    row<&SwapPairAccount::purge_each_high_g>("purge_each_high_g", "g", "purge, most",
                                             "of one swap"),
    row<&SwapPairAccount::needed_each_low_g>("needed_each_low_g", "g", "needed, least",
                                             "of one swap; without the margin of the need"),
    row<&SwapPairAccount::needed_each_high_g>("needed_each_high_g", "g", "needed, most",
                                              "of one swap; with the margin"),
    row<&SwapPairAccount::left_de00>("left_de00", "", "colour left",
                                     "expected CIEDE2000 difference from the clean colour; null "
                                     "without colours, or where another head comes"),
    row<&SwapPairAccount::left_high_de00>("left_high_de00", "", "colour left, most",
                                          "behind the swap that purges least"),
    row<&SwapPairAccount::swaps_short>("swaps_short", "", "short",
                                       "swaps that purge less than needed_each_low_g"),
    row<&SwapPairAccount::short_g>("short_g", "g", "lacks",
                                   "what those lack of needed_each_high_g"),
};

constexpr std::array kBedZones{
    row<&BedZoneAccount::row>("row", "", "row", "0 is the front"),
    row<&BedZoneAccount::column>("column", "", "column", "0 is the left"),
    row<&BedZoneAccount::active_s>("active_s", "s", "active", "heated for what is above"),
    row<&BedZoneAccount::neighbour_s>("neighbour_s", "s", "kept warm",
                                      "heated for the zone beside it"),
    row<&BedZoneAccount::energy_wh>("energy_wh", "Wh", "energy", "before supply loss"),
    row<&BedZoneAccount::peak_c>("peak_c", "C", "hottest"),
};

constexpr std::array kLayers{
    row<&LayerAccount::index>("index", "", "layer", "0: all that comes before the first layer"),
    row<&LayerAccount::z_mm>("z_mm", "mm", "height"),
    row<&LayerAccount::start_s>("start_s", "s", "begins"),
    row<kLayerTimeBy, &TimeBy::sum_s>("time_s", "s", "time", "the sum of time_by"),
    row<kLayerTimeBy, &TimeBy::print_s>("time_by.print", "s", "print"),
    row<kLayerTimeBy, &TimeBy::travel_s>("time_by.travel", "s", "travel"),
    row<kLayerTimeBy, &TimeBy::swap_s>("time_by.swap", "s", "swaps"),
    row<kLayerTimeBy, &TimeBy::heat_wait_s>("time_by.heat_wait", "s", "heat waits"),
    row<kLayerTimeBy, &TimeBy::other_s>("time_by.other", "s", "other"),
    row<&LayerAccount::swaps>("swaps", "", "swaps"),
    row<&LayerAccount::order>("order", "", "tool order", "tools in the order they lay material"),
    row<&LayerAccount::part_g>("part_g", "g", "part"),
    row<&LayerAccount::purge_g>("purge_g", "g", "purge"),
    row<&LayerAccount::start_up_g>("start_up_g", "g", "start-up"),
    row<kLayerEnergyBy, &EnergyBy::sum_wh>("energy_wh", "Wh", "energy", "the sum of energy_by"),
    row<kLayerEnergyBy, &EnergyBy::bed_wh>("energy_by.bed", "Wh", "bed"),
    row<kLayerEnergyBy, &EnergyBy::hot_ends_wh>("energy_by.hot_ends", "Wh", "hot ends"),
    row<kLayerEnergyBy, &EnergyBy::enclosure_wh>("energy_by.enclosure", "Wh", "enclosure"),
    row<kLayerEnergyBy, &EnergyBy::motors_wh>("energy_by.motors", "Wh", "motors"),
    row<kLayerEnergyBy, &EnergyBy::fans_wh>("energy_by.fans", "Wh", "fans"),
    row<kLayerEnergyBy, &EnergyBy::electronics_wh>("energy_by.electronics", "Wh", "electronics"),
    row<kLayerEnergyBy, &EnergyBy::supply_loss_wh>("energy_by.supply_loss", "Wh", "supply loss"),
    row<&LayerAccount::bed_zones_active>("bed_zones_active", "", "zones active"),
    row<&LayerAccount::bed_zones_warm>("bed_zones_warm", "", "zones warm"),
};

constexpr std::array kObjects{
    row<&ObjectAccount::number>("number", "", "object",
                                "in the order in which they are first printed; 0: the rest"),
    row<&ObjectAccount::name>("name", "", "name", "from the plate's comments, else by number"),
    row<kObjectTimeBy, &TimeBy::sum_s>("time_s", "s", "time",
                                       "the sum of time_by; over all objects the plate's"),
    row<kObjectTimeBy, &TimeBy::print_s>("time_by.print", "s", "print", "its own"),
    row<kObjectTimeBy, &TimeBy::travel_s>("time_by.travel", "s", "travel", "its own, and to it"),
    row<kObjectTimeBy, &TimeBy::swap_s>("time_by.swap", "s", "swaps", "its share"),
    row<kObjectTimeBy, &TimeBy::heat_wait_s>("time_by.heat_wait", "s", "heat waits", "its share"),
    row<kObjectTimeBy, &TimeBy::other_s>("time_by.other", "s", "other", "its share"),
    row<&ObjectAccount::swaps>("swaps", "", "swaps", "its share"),
    row<&ObjectAccount::part_g>("part_g", "g", "part"),
    row<&ObjectAccount::purge_g>("purge_g", "g", "purge", "its share"),
    row<&ObjectAccount::start_up_g>("start_up_g", "g", "start-up", "its share"),
    row<&ObjectAccount::energy_wh>("energy_wh", "Wh", "energy", "its share, from the wall"),
    row<&ObjectAccount::cost>("cost", "", "cost", "its share; null without prices"),
    row<&ObjectAccount::x_min_mm>("x_min_mm", "mm", "left", "along the middle of its strokes"),
    row<&ObjectAccount::x_max_mm>("x_max_mm", "mm", "right"),
    row<&ObjectAccount::y_min_mm>("y_min_mm", "mm", "front"),
    row<&ObjectAccount::y_max_mm>("y_max_mm", "mm", "back"),
    row<&ObjectAccount::height_mm>("height_mm", "mm", "height", "of its highest stroke"),
    row<&ObjectAccount::layers>("layers", "", "layers", "in which it is laid"),
    row<&ObjectAccount::tools>("tools", "", "tools", "that lay it"),
};

constexpr std::array kFindings{
    row<&Finding::code>("code", "", "finding"),
    row<&Finding::severity>("severity", "", "severity", "note, warning or error"),
    row<&Finding::message>("message", "", "message", "what was seen"),
    row<&Finding::advice>("advice", "", "advice", "what to do"),
    row<&Finding::assumes>("assumes", "", "assumes", "what the savings stand on"),
    row<&Finding::tried>("tried", "", "tried",
                         "1: the savings are the difference of two runs; 0: there are none"),
    row<&Finding::trial>("trial", "", "trial", "what came of trying it, or why it was not tried"),
    row<&Finding::saves_time_s>("saves.time_s", "s", "saves time"),
    row<&Finding::saves_purge_g>("saves.purge_g", "g", "saves purge"),
    row<&Finding::saves_energy_wh>("saves.energy_wh", "Wh", "saves energy"),
    row<&Finding::saves_money>("saves.money", "", "saves money", "null without prices"),
    row<&Finding::layers>("layers", "", "layers concerned", "empty: the whole plate"),
};

constexpr std::array kDiagnostics{
    row<&Diagnostic::code>("code", "", "diagnostic"),
    row<&Diagnostic::severity>("severity", "", "severity",
                               "note, warning or error; error: something was left out"),
    row<&Diagnostic::line>("line", "", "line", "of the first; 0: no line is concerned"),
    row<&Diagnostic::column>("column", "B", "column", "bytes, from 1; 0: none is concerned"),
    row<&Diagnostic::message>("message", "", "message"),
    row<&Diagnostic::count>("count", "", "count", "how often it was met"),
    row<&Diagnostic::help>("help", "", "help", "what can be done; may be empty"),
    row<&Diagnostic::excerpt>("excerpt", "", "excerpt", "of the line; may be empty"),
};

constexpr std::array kUnaccounted{
    row<&UnaccountedWord::word>("word", "", "word", "a command that the model does not know"),
    row<&UnaccountedWord::count>("count", "", "count"),
    row<&UnaccountedWord::first_line>("first_line", "", "first line"),
    row<&UnaccountedWord::why>("why", "", "why it may matter", "empty: nothing says so"),
    row<&UnaccountedWord::row>(
        "row", "", "row for the machine file",
        "TOML to correct and paste; empty where nothing says that it matters"),
};

constexpr std::array kReading{
    row<&ReadingAccount::commands>("commands", "", "commands",
                                   "words that were understood, moves included"),
    row<&ReadingAccount::lines_left_out>("lines_left_out", "", "lines left out",
                                         "that could not be read"),
    row<&ReadingAccount::moves>("moves", "", "moves", "words of motion that were taken"),
    row<&ReadingAccount::moves_left_out>("moves_left_out", "", "moves left out",
                                         "lines of motion that could not be read"),
    row<&ReadingAccount::left_out_share>("left_out_share", "", "share left out", "of all moves"),
    row<&ReadingAccount::broken>("broken", "", "broken", "why the file broke off; else empty"),
    row<&ReadingAccount::source_bytes>("source_bytes", "B", "read",
                                       "of a broken file as it lies, packed or not"),
    row<&ReadingAccount::source_bytes_in_all>("source_bytes_in_all", "B", "size of the file",
                                              "of a broken file; 0: not known"),
    row<&ReadingAccount::is_partial>("partial", "", "partial",
                                     "1: the account is of a part of the plate (--partial)"),
};

constexpr std::array kMissingTools{
    row<&MissingTool::tool>("tool", "", "tool", "that the plate selects and the machine lacks"),
    row<&MissingTool::selects>("selects", "", "selected"),
    row<&MissingTool::first_line>("first_line", "", "first line"),
    row<&MissingTool::swaps>("swaps", "", "swaps lost", "not in totals.swaps"),
    row<&MissingTool::filament_mm>("filament_mm", "mm", "filament",
                                   "counted to the tool that was in hand before"),
};

constexpr std::array kStated{
    row<&StatedFigure::what>("what", "", "what",
                             "filament_mm, filament_cm3, filament_g, layers or time_s"),
    row<&StatedFigure::tool>("tool", "", "tool", "-1: of the whole plate"),
    row<&StatedFigure::stated>("stated", "", "stated", "by the file's own comments"),
    row<&StatedFigure::found>("found", "", "found", "the account's figure"),
    row<&StatedFigure::line>("line", "", "line", "of the comment"),
    row<&StatedFigure::differs>("differs", "", "differs",
                                "1: filament by more than 5 %, layers by more than 2"),
};

constexpr std::array kLimitsRead{
    row<&LimitWord::word>("word", "", "word",
                          "a command that nothing explains, whose KEY=VALUE were read as limits of "
                          "the motion by the plain English in the keys"),
    row<&LimitWord::count>("count", "", "count"),
    row<&LimitWord::first_line>("first_line", "", "first line"),
};

template <auto List>
std::size_t count(const Account& account) {
  return (account.*List).size();
}
std::size_t one(const Account&) {
  return 1;
}
std::string nameless(const Account&, std::size_t) {
  return {};
}

template <auto... Members>
std::string name_from(const Account& account, std::size_t row) {
  std::string name;
  for (const std::string& part : {fmt::format(
           "{}", owner<typename OwnerOf<decltype(Members)>::type>(account, row).*Members)...})
    name += (name.empty() ? "" : ".") + part;
  return name;
}

/// "filament_mm" of the whole plate, "filament_mm.2" of tool 2.
std::string name_of_stated(const Account& account, std::size_t row) {
  const StatedFigure& figure = account.stated[row];
  return figure.tool < 0 ? figure.what : fmt::format("{}.{}", figure.what, figure.tool);
}

constexpr std::array kSections{
    Section{"job", "", RowName::none, one, nameless, kJob},
    Section{"machine", "", RowName::none, one, nameless, kMachine},
    Section{"verdict", "", RowName::none, one, nameless, kVerdict},
    Section{"reasons", "CODE", RowName::word,
            [](const Account& account) { return account.verdict.reasons.size(); },
            name_from<&VerdictReason::code>, kReasons},
    Section{"totals", "", RowName::none, one, nameless, kTotals},
    Section{"time_band", "CAUSE", RowName::word,
            [](const Account& account) { return account.totals.time_band.size(); },
            name_from<&TimeBandCause::cause>, kTimeBand},
    Section{"clock", "", RowName::none, one, nameless, kClock},
    Section{"stops", "N", RowName::numbers, count<&Account::stops>,
            [](const Account&, std::size_t row) { return fmt::format("{}", row + 1); }, kStops},
    Section{"tower", "", RowName::none, one, nameless, kTower},
    Section{"tools", "T", RowName::numbers, count<&Account::tools>, name_from<&ToolAccount::tool>,
            kTools},
    Section{"swap_pairs", "FROM.TO", RowName::numbers, count<&Account::swap_pairs>,
            name_from<&SwapPairAccount::from, &SwapPairAccount::to>, kSwapPairs},
    Section{"bed_zones", "ROW.COLUMN", RowName::numbers, count<&Account::bed_zones>,
            name_from<&BedZoneAccount::row, &BedZoneAccount::column>, kBedZones},
    Section{"layers", "INDEX", RowName::numbers, count<&Account::layers>,
            name_from<&LayerAccount::index>, kLayers},
    Section{"objects", "NUMBER", RowName::numbers, count<&Account::objects>,
            name_from<&ObjectAccount::number>, kObjects},
    Section{"findings", "CODE", RowName::word, count<&Account::findings>, name_from<&Finding::code>,
            kFindings},
    Section{"diagnostics", "CODE", RowName::word, count<&Account::diagnostics>,
            name_from<&Diagnostic::code>, kDiagnostics},
    Section{"unaccounted", "WORD", RowName::word, count<&Account::unaccounted>,
            name_from<&UnaccountedWord::word>, kUnaccounted},
    Section{"limits_read", "WORD", RowName::word, count<&Account::limits_read>,
            name_from<&LimitWord::word>, kLimitsRead},
    Section{"reading", "", RowName::none, one, nameless, kReading},
    Section{"missing_tools", "T", RowName::numbers, count<&Account::missing_tools>,
            name_from<&MissingTool::tool>, kMissingTools},
    Section{"stated", "WHAT", RowName::word, count<&Account::stated>, name_of_stated, kStated},
};

}  // namespace

std::string_view owner_of(const Field& field) {
  const std::size_t dot = field.key.find('.');
  return dot == std::string_view::npos ? std::string_view() : field.key.substr(0, dot);
}

std::vector<std::span<const Field>> members_of(std::span<const Field> fields) {
  std::vector<std::span<const Field>> members;
  for (std::size_t from = 0; from < fields.size();) {
    const std::string_view owner = owner_of(fields[from]);
    std::size_t to = from + 1;
    while (!owner.empty() && to < fields.size() && owner_of(fields[to]) == owner)
      ++to;
    members.push_back(fields.subspan(from, to - from));
    from = to;
  }
  return members;
}

std::span<const Section> sections() {
  return kSections;
}

const Section& section(std::string_view name) {
  for (const Section& candidate : kSections)
    if (candidate.name == name)
      return candidate;
  throw std::logic_error(fmt::format("no section '{}'", name));
}

const Field& field(const Section& section, std::string_view key) {
  for (const Field& candidate : section.fields)
    if (candidate.key == key)
      return candidate;
  throw std::logic_error(fmt::format("no field '{}' in '{}'", key, section.name));
}

}  // namespace platetally::report
