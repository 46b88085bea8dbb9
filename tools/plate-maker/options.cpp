#include "options.hpp"

#include <array>
#include <charconv>
#include <functional>
#include <initializer_list>
#include <utility>

#include <fmt/format.h>

namespace plate_maker {

namespace {

using Setter = std::function<bool(Options&, std::string_view)>;

struct Row {
  std::string_view name;
  std::string_view values;
  Setter set;
};

template <typename Number>
bool read(std::string_view text, Number& value) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc{} && end == text.data() + text.size();
}

template <typename Number>
Setter number(Number Options::*field, Number lowest, Number highest) {
  return [=](Options& options, std::string_view text) {
    return read(text, options.*field) && options.*field >= lowest && options.*field <= highest;
  };
}

Setter flag(bool Options::*field) {
  return [=](Options& options, std::string_view text) {
    options.*field = text == "yes";
    return text == "yes" || text == "no";
  };
}

template <typename Enum>
Setter choice(Enum Options::*field,
              std::initializer_list<std::pair<std::string_view, Enum>> choices) {
  return [field, known = std::vector(choices)](Options& options, std::string_view text) {
    for (const auto& [name, value] : known) {
      if (name == text) {
        options.*field = value;
        return true;
      }
    }
    return false;
  };
}

/// Two numbers with `separator` between them.
template <typename Number>
bool read_two(std::string_view text, char separator, Number& first, Number& second) {
  const std::size_t at = text.find(separator);
  return at != std::string_view::npos && read(text.substr(0, at), first) &&
         read(text.substr(at + 1), second);
}

Setter place(Size Options::*field) {
  return [=](Options& options, std::string_view text) {
    return read_two(text, ',', (options.*field).x, (options.*field).y);
  };
}

template <typename Number>
Setter numbers(std::vector<Number> Options::*field) {
  return [=](Options& options, std::string_view text) {
    (options.*field).clear();
    while (true) {
      const std::size_t comma = text.find(',');
      Number value{};
      if (!read(text.substr(0, comma), value))
        return false;
      (options.*field).push_back(value);
      if (comma == std::string_view::npos)
        return true;
      text.remove_prefix(comma + 1);
    }
  };
}

/// "0-1-2,2-1-0": tools of one layer after the other, by index.
bool set_layer_orders(Options& options, std::string_view text) {
  options.layer_orders.assign(1, {});
  while (true) {
    const std::size_t end = text.find_first_of("-,");
    int tool = 0;
    if (!read(text.substr(0, end), tool) || tool < 0)
      return false;
    options.layer_orders.back().push_back(tool);
    if (end == std::string_view::npos)
      return true;
    if (text[end] == ',')
      options.layer_orders.emplace_back();
    text.remove_prefix(end + 1);
  }
}

bool set_copies(Options& options, std::string_view text) {
  return read_two(text, 'x', options.columns, options.rows) && options.columns >= 1 &&
         options.rows >= 1 && options.columns <= 100 && options.rows <= 100;
}

bool set_speeds(Options& options, std::string_view text) {
  std::array<double*, 6> fields{&options.outer_mm_s,       &options.inner_mm_s,
                                &options.infill_mm_s,      &options.travel_mm_s,
                                &options.first_layer_mm_s, &options.tower_mm_s};
  for (double* field : fields) {
    const std::size_t comma = text.find(',');
    if (!read(text.substr(0, comma), *field) || *field <= 0.0)
      return false;
    text.remove_prefix(comma == std::string_view::npos ? text.size() : comma + 1);
  }
  return text.empty();
}

std::vector<Row> part_rows() {
  return {
      {"copies", "COLUMNSxROWS", set_copies},
      {"size", "X,Y", place(&Options::size_mm)},
      {"origin", "X,Y", place(&Options::origin_mm)},
      {"gap", "MM", number(&Options::gap_mm, 0.0, 200.0)},
      {"wall", "MM", number(&Options::wall_mm, 0.4, 20.0)},
      {"ripple", "MM", number(&Options::ripple_mm, 0.0, 5.0)},
      {"round", "yes|no", flag(&Options::round)},
      {"density", "0.02 .. 1", number(&Options::density, 0.02, 1.0)},
      {"segment", "MM", number(&Options::segment_mm, 0.0, 1000.0)},
      {"arcs", "yes|no", flag(&Options::arcs)},
      {"seed", "NUMBER", number<std::int64_t>(&Options::seed, 0, INT64_MAX)},
      {"layers", "NUMBER", number(&Options::layers, 0, 90000)},
      {"layer-height", "MM", number(&Options::layer_height_mm, 0.02, 2.0)},
      {"first-layer-height", "MM", number(&Options::first_layer_height_mm, 0.02, 2.0)},
      {"height-cycle", "MM,MM,...", numbers(&Options::height_cycle_mm)},
      {"figures", "1 .. 12", number(&Options::figures, 1, 12)},
      {"small-first", "yes|no", flag(&Options::small_first)},
      {"drift", "MM", number(&Options::drift_mm, 0.0, 10.0)},
      {"change-places-every", "LAYERS", number(&Options::change_places_every, 0, 90000)},
      {"logo-layers", "NUMBER", number(&Options::logo_layers, 1, 90000)},
      {"sequential", "yes|no", flag(&Options::sequential)},
      {"spiral", "yes|no", flag(&Options::spiral)},
      {"nonplanar", "MM", number(&Options::nonplanar_mm, 0.0, 2.0)},
      {"z-every-line", "yes|no", flag(&Options::z_every_line)},
      {"megabytes", "NUMBER", number<std::int64_t>(&Options::megabytes, 0, 100000)},
  };
}

std::vector<Row> tool_rows() {
  return {
      {"tools", "1 .. 8", number(&Options::tools, 1, 8)},
      {"tool-numbers", "T,T,...", numbers(&Options::tool_numbers)},
      {"colours", "every-layer|upper-layers|bands",
       choice(&Options::colours, {{"every-layer", Colours::every_layer},
                                  {"upper-layers", Colours::upper_layers},
                                  {"bands", Colours::bands}})},
      {"colours-by", "order|place",
       choice(&Options::colours_by_order, {{"order", true}, {"place", false}})},
      {"upper-layers", "NUMBER", number(&Options::upper_layers, 1, 90000)},
      {"band-layers", "NUMBER", number(&Options::band_layers, 1, 90000)},
      {"order", "ascending|descending|carry-over",
       choice(&Options::order, {{"ascending", Order::ascending},
                                {"descending", Order::descending},
                                {"carry-over", Order::carry_over}})},
      {"layer-orders", "T-T-...,T-T-...", set_layer_orders},
      {"select-twice", "yes|no", flag(&Options::select_twice)},
      {"park", "yes|no", flag(&Options::park)},
      {"standby", "DEGREES", number(&Options::standby_c, 0.0, 400.0)},
      {"purge", "none|tower|chute|line|bucket|object",
       choice(&Options::purge, {{"none", Purge::none},
                                {"tower", Purge::tower},
                                {"chute", Purge::chute},
                                {"line", Purge::line},
                                {"bucket", Purge::bucket},
                                {"object", Purge::object}})},
      {"purge-mm3", "MM3", number(&Options::purge_mm3, 0.1, 5000.0)},
      {"purge-speed", "MM/S", number(&Options::purge_mm_s, 0.1, 100.0)},
      {"purge-at", "X,Y", place(&Options::purge_at_mm)},
      {"tower-side", "MM", number(&Options::tower_side_mm, 4.0, 200.0)},
      {"tower-brim", "RINGS", number(&Options::tower_brim, 0, 50)},
      {"tower-ahead", "LAYERS", number(&Options::tower_ahead, 0, 50)},
      {"tower-form", "zigzag|strokes|boxed|rings",
       choice(&Options::tower_form, {{"zigzag", TowerForm::zigzag},
                                     {"strokes", TowerForm::strokes},
                                     {"boxed", TowerForm::boxed},
                                     {"rings", TowerForm::rings}})},
      {"tower-walls", "none|carried|last|arriving",
       choice(&Options::tower_walls, {{"none", TowerWalls::none},
                                      {"carried", TowerWalls::carried},
                                      {"last", TowerWalls::last},
                                      {"arriving", TowerWalls::arriving}})},
      {"tower-ribs", "yes|no", flag(&Options::tower_ribs)},
      {"tower-lags", "yes|no", flag(&Options::tower_lags)},
      {"also-chute", "MM3", number(&Options::also_chute_mm3, 0.0, 5000.0)},
      {"bucket-motion", "rest|rise|circle",
       choice(&Options::bucket_motion, {{"rest", BucketMotion::rest},
                                        {"rise", BucketMotion::rise},
                                        {"circle", BucketMotion::circle}})},
      {"object-rest", "first|last|own",
       choice(
           &Options::object_rest,
           {{"first", ObjectRest::first}, {"last", ObjectRest::last}, {"own", ObjectRest::own}})},
      {"one-nozzle", "yes|no", flag(&Options::one_nozzle)},
      {"unload", "MM", number(&Options::unload_mm, 0.0, 1000.0)},
      {"line-length", "MM", number(&Options::line_length_mm, 5.0, 500.0)},
      {"start-line", "yes|no", flag(&Options::start_line)},
  };
}

std::vector<Row> word_rows() {
  return {
      {"e", "absolute|relative",
       choice(&Options::absolute_e, {{"absolute", true}, {"relative", false}})},
      {"extruder-words", "yes|no", flag(&Options::extruder_words)},
      {"inches", "yes|no", flag(&Options::inches)},
      {"rapid", "yes|no", flag(&Options::rapid)},
      {"reset-e-every", "STROKES", number(&Options::reset_e_every, 0, 1000000)},
      {"retraction", "none|filament|firmware",
       choice(&Options::retraction, {{"none", Retraction::none},
                                     {"filament", Retraction::filament},
                                     {"firmware", Retraction::firmware}})},
      {"retract", "MM", number(&Options::retract_mm, 0.0, 20.0)},
      {"wipe", "MM", number(&Options::wipe_mm, 0.0, 10.0)},
      {"hop", "MM", number(&Options::hop_mm, 0.0, 10.0)},
      {"hop-mode", "absolute|relative|helix",
       choice(&Options::hop,
              {{"absolute", Hop::absolute}, {"relative", Hop::relative}, {"helix", Hop::helix}})},
      {"comments", "none|trade|notes|parentheses",
       choice(&Options::comments, {{"none", Comments::none},
                                   {"trade", Comments::trade},
                                   {"notes", Comments::notes},
                                   {"parentheses", Comments::parentheses}})},
      {"line-ends", "lf|crlf", choice(&Options::crlf, {{"lf", false}, {"crlf", true}})},
      {"checksums", "yes|no", flag(&Options::checksums)},
      {"odd-words-every", "STROKES", number(&Options::odd_words_every, 0, 1000000)},
      {"width", "MM", number(&Options::width_mm, 0.1, 2.0)},
      {"filament", "MM", number(&Options::filament_mm, 0.5, 10.0)},
      {"head", "DEGREES", number(&Options::head_c, 0.0, 500.0)},
      {"bed", "DEGREES", number(&Options::bed_c, 0.0, 200.0)},
      {"accelerations", "yes|no", flag(&Options::accelerations)},
      {"speeds", "OUTER,INNER,INFILL,TRAVEL,FIRST_LAYER,TOWER (mm/s)", set_speeds},
  };
}

std::vector<Row> all_rows() {
  std::vector<Row> rows = part_rows();
  for (const auto& more : {tool_rows(), word_rows()})
    rows.insert(rows.end(), more.begin(), more.end());
  return rows;
}

bool set_kind(Options& options, std::string_view name) {
  const Setter set = choice(&Options::kind, {{"labels", Kind::labels},
                                             {"lantern", Kind::lantern},
                                             {"blocks", Kind::blocks},
                                             {"ring", Kind::ring},
                                             {"figures", Kind::figures},
                                             {"pillars", Kind::pillars},
                                             {"logo", Kind::logo},
                                             {"lithophane", Kind::lithophane}});
  if (!set(options, name))
    return false;
  if (options.kind == Kind::labels) {
    options.size_mm = {56.0, 26.0};
    options.colours = Colours::upper_layers;
  } else if (options.kind == Kind::lantern) {
    options.size_mm = {50.0, 50.0};
  } else if (options.kind == Kind::logo || options.kind == Kind::lithophane) {
    options.size_mm = {60.0, 40.0};
  }
  return true;
}

/// Options that contradict each other; empty if none do.
std::string contradiction(const Options& options) {
  const bool many = options.columns * options.rows > 1;
  if (!options.tool_numbers.empty() &&
      options.tool_numbers.size() != static_cast<std::size_t>(options.tools))
    return "--tool-numbers needs as many numbers as --tools says";
  for (const double height_mm : options.height_cycle_mm)
    if (!(height_mm >= 0.02 && height_mm <= 2.0))
      return "--height-cycle takes heights from 0.02 to 2 mm";
  if (options.kind == Kind::labels && options.tools > 1 &&
      (options.colours != Colours::upper_layers || options.upper_layers >= options.layers))
    return "labels of several tools have them in upper layers, above some of the first tool";
  if (options.spiral && (options.tools > 1 || many || options.kind != Kind::lantern))
    return "--spiral takes one lantern of one tool";
  if (options.sequential && (options.purge == Purge::tower || options.megabytes > 0))
    return "--sequential goes neither with a tower nor with --megabytes";
  if (options.extruder_words &&
      (options.absolute_e || options.purge == Purge::chute || options.purge == Purge::bucket ||
       options.retraction == Retraction::filament))
    return "--extruder-words has no E: not with absolute E, a chute or filament retraction";
  const bool on_bed = options.purge == Purge::tower || options.purge == Purge::object;
  if (options.tower_lags && (!on_bed || options.tower_ahead > 0 || options.megabytes > 0))
    return "--tower-lags needs a tower or an object, not ahead, and no --megabytes";
  if ((options.one_nozzle || options.also_chute_mm3 > 0.0) &&
      (options.extruder_words || options.retraction == Retraction::firmware))
    return "--one-nozzle and --also-chute need E words and no firmware retraction";
  if (options.purge == Purge::object && options.sequential)
    return "--sequential goes not with an object";
  if (options.nonplanar_mm > 0.0 && (options.arcs || options.spiral))
    return "--nonplanar goes with straight strokes only";
  if (options.megabytes > 0 && (options.spiral || options.layers == 0))
    return "--megabytes needs layers to repeat";
  return {};
}

}  // namespace

Request read_arguments(const std::vector<std::string_view>& arguments) {
  Request request;
  if (arguments.empty() || arguments[0] == "--help") {
    request.help = true;
    return request;
  }
  if (!set_kind(request.options, arguments[0])) {
    request.error = fmt::format("'{}' is no kind of plate", arguments[0]);
    return request;
  }
  const std::vector<Row> rows = all_rows();
  for (std::size_t at = 1; at < arguments.size(); at += 2) {
    std::string_view name = arguments[at];
    if (at + 1 == arguments.size()) {
      request.error = fmt::format("'{}' lacks its value", name);
      return request;
    }
    const std::string_view value = arguments[at + 1];
    if (name == "-o") {
      request.output = value;
      continue;
    }
    if (name == "--truth") {
      request.truth = value;
      continue;
    }
    const Row* found = nullptr;
    for (const Row& row : rows)
      if (name.starts_with("--") && name.substr(2) == row.name)
        found = &row;
    if (found == nullptr) {
      request.error = fmt::format("'{}' is no option", name);
      return request;
    }
    if (!found->set(request.options, value)) {
      request.error = fmt::format("{} takes {}, not '{}'", name, found->values, value);
      return request;
    }
  }
  request.error = request.output.empty() ? "-o FILE is missing" : contradiction(request.options);
  return request;
}

std::string usage() {
  std::string text =
      "plate-maker labels|lantern|blocks|ring|figures|pillars|logo|lithophane [--option VALUE ...] "
      "-o FILE [--truth FILE]\n"
      "writes a sliced plate, and what is true of it as JSON\n\n";
  for (const Row& row : all_rows())
    text += fmt::format("  --{:<19} {}\n", row.name, row.values);
  return text;
}

}  // namespace plate_maker
