// The interpreter as a whole: what it guesses, what it lists, what must never depend on the form.
#include "reading/interpreter/interpreter.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "reading/interpreter/unaccounted.hpp"
#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

Machine detecting() {
  Machine machine = test::machine();
  machine.dialect.initial_extrusion = ExtrusionMode::detect;
  return machine;
}

struct Walk {
  int moves = 300;
  bool relative = false;
  int reset_every = 0;      // G92 E0
  int draw_back_every = 0;  // E alone, and its return
  int wipe_every = 0;       // E drawn back on the way
  int decimals = 5;
};

/// Random straight moves with a bead of 0.04 mm/mm, now and then a travel.
std::string walk(const Walk& how, unsigned seed = 1) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> at(10.0, 200.0);
  std::string text = "G1 X100 Y100 Z0.2 F3000\n";
  double x = 100.0, y = 100.0, e = 0.0;
  const auto feed = [&](double fed) {
    e = how.relative ? fed : e + fed;
    return fmt::format(" E{:.{}f}", e, how.decimals);
  };
  for (int i = 1; i <= how.moves; ++i) {
    // Strokes of a few millimetres, and of a hundred where an infill line runs across.
    const double reach = i % 7 == 0 ? 1.0 : 0.05;
    const double to_x = x + reach * (at(random) - x), to_y = y + reach * (at(random) - y);
    const double length = std::hypot(to_x - x, to_y - y);
    x = to_x;
    y = to_y;
    const bool wipes = how.wipe_every > 0 && i % how.wipe_every == 0;
    text += fmt::format("G1 X{:.3f} Y{:.3f}{}\n", x, y, feed(wipes ? -0.3 : 0.04 * length));
    if (how.draw_back_every > 0 && i % how.draw_back_every == 0) {
      text += "G1" + feed(-0.8) + "\nG0 X50 Y50\nG1" + feed(0.8) + "\n";
      x = y = 50.0;
    }
    if (how.reset_every > 0 && i % how.reset_every == 0) {
      text += "G92 E0\n";
      e = 0.0;
    }
  }
  return text;
}

TEST(ExtrusionMode, IsReadFromTheBeadWhereItIsNeverStated) {
  const Walk kinds[] = {
      {},
      {.reset_every = 40},
      {.reset_every = 6},
      {.draw_back_every = 10},
      {.reset_every = 12, .draw_back_every = 12, .wipe_every = 5},
      {.decimals = 2},
      {.moves = 30},
  };
  for (const Walk& kind : kinds) {
    for (const bool relative : {false, true}) {
      for (unsigned seed = 1; seed <= 20; ++seed) {
        Walk how = kind;
        how.relative = relative;
        const std::string text = walk(how, seed);
        const test::Run guessed = test::run(text, detecting());
        const Diagnostic* said = guessed.find("extrusion-mode-detected");
        ASSERT_NE(said, nullptr) << dump(guessed).substr(0, 500);
        EXPECT_NE(said->message.find(relative ? "read as relative" : "read as absolute"),
                  std::string::npos)
            << said->message << " moves " << how.moves << " reset " << how.reset_every << " back "
            << how.draw_back_every << " wipe " << how.wipe_every;
        EXPECT_EQ(said->line, 2U);
        // Held back lines come out as if the mode had been stated.
        const test::Run stated = test::run((relative ? "M83\n" : "M82\n") + text, machine());
        ASSERT_EQ(guessed.records.size(), stated.records.size());
        for (std::size_t i = 0; i < stated.records.size(); ++i)
          ASSERT_EQ(show(guessed.records[i]), show(stated.records[i]));
      }
    }
  }
}

TEST(ExtrusionMode, IsRelativeWhenStrokesOfASpiralGrow) {
  // E grows with every move, as it does when absolute; only the path tells.
  std::string text = "G1 X100 Y100 F600\n";
  double x = 100.0;
  for (int i = 1; i <= 300; ++i) {
    x = i % 2 == 0 ? 100.0 : 100.0 + 0.1 * i;
    const double length = i % 2 == 0 ? 0.1 * (i - 1) : 0.1 * i;
    text += fmt::format("G1 X{:.3f} E{:.5f}\n", x, 0.04 * length);
  }
  const test::Run run = test::run(text, detecting());
  ASSERT_NE(run.find("extrusion-mode-detected"), nullptr);
  EXPECT_NE(run.find("extrusion-mode-detected")->message.find("relative"), std::string::npos);
}

TEST(ExtrusionMode, IsAbsoluteWhereNothingDecidesIt) {
  const test::Run run = test::run("G1 X1 E1 F600\nG1 X2 E2\n", detecting());
  EXPECT_EQ(dump(run),
            "L1 T0 0,0,0 -> 1,0,0 e1 f10\nL1 T0 1,0,0 -> 2,0,0 e1 f10\n"
            "! extrusion-mode-assumed 1:0\n");
}

TEST(ExtrusionMode, IsNotGuessedWhereItIsStated) {
  EXPECT_TRUE(test::run("M83\nG1 X1 E1\n", detecting()).diagnostics.empty());
  EXPECT_TRUE(test::run("G1 X5 F600\nM82\nG1 X1 E1\n", detecting()).diagnostics.empty());
  Machine by_distance = detecting();
  by_distance.dialect.distance_words_set_e = DistanceWordsSetE::yes;
  const test::Run run = test::run("G91\nG1 X1 E1 F600\nG1 X1 E1\n", by_distance);
  EXPECT_EQ(dump(run), "L1 T0 0,0,0 -> 1,0,0 e1 f10\nL1 T0 1,0,0 -> 2,0,0 e1 f10\n");
  // Feeding before the word: guessed up to there.
  const test::Run late = test::run("G1 X1 E1\nM83\nG1 X2 E1\n", detecting());
  EXPECT_NE(late.find("extrusion-mode-assumed"), nullptr);
  EXPECT_EQ(late.moves()[1].move.e_mm, 1.0);
}

TEST(ExtrusionMode, HoldsBackWithinBounds) {
  // Feeding at rest decides nothing; the lines must not pile up.
  std::string text = "G1 E1 F300\n";
  for (int i = 0; i < 30000; ++i)
    text += i % 2 == 0 ? "G1 E2\n" : "G1 E1\n";
  Collect sink;
  const Machine machine = detecting();
  Interpreter interpreter(machine, sink);
  gcode::Line line;
  std::uint64_t number = 0;
  for (std::string_view rest = text; !rest.empty(); rest.remove_prefix(rest.find('\n') + 1)) {
    const std::string_view one = rest.substr(0, rest.find('\n'));
    gcode::parse_line(one, line);
    interpreter.take(line, one, ++number);
  }
  EXPECT_FALSE(sink.records.empty()) << "decided long before the end";
  interpreter.finish();
  EXPECT_EQ(sink.records.size(), 30002U);
}

TEST(MachineFile, LimitWordsAreLeftOutWhereTheMachineDoesNotObeyThem) {
  const std::string text =
      "M201 X500\nM203 X100\nM204 S500\nM205 X5\nM205 J0.1\nM220 S50\nM221 S50\nM83\nG1 X1 E1 "
      "F600\n";
  Machine stubborn = machine();
  stubborn.motion.honours_speed_words = false;
  stubborn.motion.honours_acceleration_words = false;
  stubborn.motion.honours_corner_words = false;
  stubborn.motion.honours_factor_words = false;
  EXPECT_EQ(dump(test::run(text, stubborn)),
            "L1 T0 0,0,0 -> 1,0,0 e1 f10\n! limit-word-not-honoured 1:1 x7\n");
  Machine partly = machine();
  partly.motion.honours_speed_words = false;
  EXPECT_EQ(dump(test::run("M203 X100\nM201 X500\n", partly)),
            "limit axis_acceleration 500,nan,nan,nan\n! limit-word-not-honoured 1:1\n");
}

TEST(MachineFile, VolumetricFromTheStart) {
  Machine cubic = machine();
  cubic.dialect.volumetric_e = true;
  cubic.tools[1].filament_diameter_mm = 2.0;
  // 10 mm3 of filament of 1.75 and of 2 mm: 10 / (pi/4 d^2). Inches do not hold for volumes.
  const test::Run run = test::run("M83\nG20\nG1 X1 E10\nT1\nG1 X2 E10\n", cubic);
  ASSERT_EQ(run.moves().size(), 2U);
  EXPECT_NEAR(run.moves()[0].move.e_mm, 4.15751688, 1e-8);
  EXPECT_NEAR(run.moves()[1].move.e_mm, 3.18309886, 1e-8);
}

TEST(MachineFile, DistanceWordsSetE) {
  const std::string text = "G91\nG1 X1 E1 F600\nG1 X1 E1\nG90\nG1 X0 E3\n";
  Machine both = machine();
  both.dialect.distance_words_set_e = DistanceWordsSetE::yes;
  EXPECT_EQ(
      dump(test::run(text, both)),
      "L1 T0 0,0,0 -> 1,0,0 e1 f10\nL1 T0 1,0,0 -> 2,0,0 e1 f10\nL1 T0 2,0,0 -> 0,0,0 e1 f10\n");
  EXPECT_EQ(dump(test::run(text, machine())),
            "L1 T0 0,0,0 -> 1,0,0 e1 f10\nL1 T0 1,0,0 -> 2,0,0 f10\nL1 T0 2,0,0 -> 0,0,0 e2 f10\n");
}

TEST(Unaccounted, CountsWordsAndNamesTheFirstLine) {
  const test::Run run = test::run("G1 X1\nM999\nM998\nM999 S1\nSING\nm999\nQ5\n", machine());
  ASSERT_EQ(run.unaccounted.size(), 4U);
  EXPECT_EQ(run.unaccounted[0].word, "M999");
  EXPECT_EQ(run.unaccounted[0].count, 3U);
  EXPECT_EQ(run.unaccounted[0].first_line, 2U);
  EXPECT_EQ(run.unaccounted[1].word, "M998");
  EXPECT_EQ(run.unaccounted[2].word, "Q");
  EXPECT_EQ(run.unaccounted[3].word, "SING");
}

TEST(Unaccounted, IsBounded) {
  std::string text;
  for (int i = 0; i < 3000; ++i)
    text += fmt::format("M{}\n", 10000 + i);
  const test::Run run = test::run(text, machine());
  ASSERT_EQ(run.unaccounted.size(), WordCounts::kMostWords + 1);
  EXPECT_EQ(run.unaccounted[0].word, "other");
  EXPECT_EQ(run.unaccounted[0].count, 2000U);
}

TEST(NoMotion, IsSaidWithTheWordsThatNothingExplains) {
  const test::Run own = test::run("GO_TO X=1\nGO_TO X=2\nLAY X=3\n", machine());
  ASSERT_NE(own.find("no-motion"), nullptr);
  EXPECT_EQ(own.find("no-motion")->severity, Severity::error);
  EXPECT_EQ(
      own.find("no-motion")->message,
      "no move was understood; 3 commands are in 2 words that nothing explains, most often GO_TO "
      "(2 times, first in line 1)");
  EXPECT_NE(test::run("G21\nG90\n", machine()).find("no-motion"), nullptr);
  EXPECT_NE(test::run("", machine()).find("no-motion"), nullptr);
  EXPECT_EQ(test::run("G1 X5\n", machine()).find("no-motion"), nullptr);
}

TEST(Faults, OfALineAreFoldedByCode) {
  Collect sink;
  const Machine machine = test::machine();
  Interpreter interpreter(machine, sink);
  gcode::Line line;
  for (std::uint64_t number = 1; number <= 3; ++number) {
    gcode::parse_line("G1 X1", line);
    line.checksum = gcode::Checksum::wrong;
    if (number > 1) {
      line.fault = gcode::LineFault::placeholder;
      line.fault_column = 4;
    }
    interpreter.take(line, "G1 X1", number);
  }
  interpreter.finish();
  const auto& said = interpreter.diagnostics().entries();
  ASSERT_EQ(said.size(), 2U);
  EXPECT_EQ(said[0].code, "checksum-wrong");
  EXPECT_EQ(said[0].count, 3U);
  EXPECT_EQ(said[1].line, 2U);
  EXPECT_EQ(said[1].column, 4U);
  EXPECT_EQ(said[1].count, 2U);
  EXPECT_EQ(sink.records.size(), 2U) << "what the line commits runs all the same";
}

TEST(Interpreter, EndsWithTheEndWhateverComes) {
  for (const char* text : {"", "\n\n", "; only words\n", "G1 X1\nM2\nG1 X2\n", "G1 X1 E1\n"}) {
    const test::Run run = test::run(text, detecting());
    ASSERT_FALSE(run.records.empty());
    EXPECT_EQ(run.records.back().kind, RecordKind::end_of_plate);
    EXPECT_EQ(std::count_if(run.records.begin(), run.records.end(),
                            [](const Record& r) { return r.kind == RecordKind::end_of_plate; }),
              1);
  }
}

TEST(Interpreter, RecordsCarryTheirLine) {
  const test::Run run = test::run("G28\n\n; words\nG1 X1 F600 G1 X2\nT1\n", machine());
  std::vector<std::uint64_t> lines;
  for (const Record& record : run.records)
    lines.push_back(record.line);
  EXPECT_EQ(lines, (std::vector<std::uint64_t>{1, 4, 4, 5, 5}));
}

TEST(Interpreter, MovesJoin) {
  const test::Run run =
      test::run("G91\nG20\n" + walk({.moves = 200, .relative = true}), detecting());
  const std::vector<Record> moves = run.moves();
  for (std::size_t i = 1; i < moves.size(); ++i)
    EXPECT_EQ(moves[i].move.from_mm, moves[i - 1].move.to_mm);
}

TEST(Interpreter, NetFilamentIsTheSumOfTheWords) {
  double fed_mm = 0.0;
  const Walk how{.moves = 2000, .draw_back_every = 9};
  const std::string text = walk(how);
  for (const Record& record : test::run(text, machine()).moves())
    fed_mm += record.move.e_mm;
  const std::size_t last = text.rfind(" E");
  // Each difference rounds by less than 1e-13 (E below 1000), and there are 2700.
  EXPECT_NEAR(fed_mm, std::stod(text.substr(last + 2)), 1e-9);
}

/// The same program in another dress.
std::string dressed(const std::string& text, int dress) {
  std::string out;
  for (const char c : text) {
    switch (dress) {
      case 0:  // CRLF
        out += c == '\n' ? "\r\n" : std::string(1, c);
        break;
      case 1:  // lower case
        out += static_cast<char>(std::tolower(c));
        break;
      case 2:  // blanks
        out += c == '\n' ? std::string("  \n") : c == ' ' ? std::string(" \t ") : std::string(1, c);
        break;
      case 3:  // comments
        out += c == '\n' ? std::string(" ; tags and lanterns\n") : std::string(1, c);
        break;
      default:  // empty lines would change line numbers; a comment in parentheses does not
        out += c == '\n' ? std::string(" (tags (and) lanterns)\n") : std::string(1, c);
    }
  }
  return out;
}

TEST(Interpreter, TheDressOfALineChangesNoRecord) {
  const std::string text =
      "G28\nM190 S60\nT0\nM109 S210 T0\n" + walk({.moves = 300, .draw_back_every = 7}) +
      "T1\nM106 S100\nG4 P200\nG92 E0\nG3 X60 Y60 I5 J5 E1\nG10\nG11\nM204 P500 T700\nM84\n";
  const test::Run plain = test::run(text, detecting());
  for (int dress = 0; dress < 5; ++dress) {
    const test::Run other = test::run(dressed(text, dress), detecting());
    ASSERT_EQ(other.records.size(), plain.records.size()) << dress;
    for (std::size_t i = 0; i < plain.records.size(); ++i)
      ASSERT_EQ(show(other.records[i]), show(plain.records[i])) << dress;
    EXPECT_EQ(other.heights_mm, plain.heights_mm);
  }
}

TEST(Interpreter, RandomWordsKeepTheLaws) {
  std::mt19937 random(7);
  const char* const words[] = {
      "G0",   "G1",   "G2",   "G3",  "G4",   "G10",  "G11",     "G20",         "G21",     "G28",
      "G90",  "G91",  "G92",  "G93", "G94",  "M2x",  "M82",     "M83",         "M101",    "M103",
      "M104", "M106", "T0",   "T1",  "T-1",  "T9",   "M200",    "M220",        "M221",    "G18",
      "G17",  "G19",  "M600", "G53", "M204", "M205", "; purge", "; purge end", "FOO A=1", ""};
  const char letters[] = "XYZEFIJKRSPDT";
  std::uniform_real_distribution<double> value(-50.0, 50.0);
  for (int round = 0; round < 200; ++round) {
    std::string text;
    for (int i = 0; i < 200; ++i) {
      text += words[random() % std::size(words)];
      for (std::size_t n = random() % 5; n > 0; --n)
        text += fmt::format(" {}{:.3f}", letters[random() % (std::size(letters) - 1)],
                            random() % 50 == 0 ? value(random) * 1e12 : value(random));
      text += '\n';
    }
    const test::Run run = test::run(text, detecting());
    for (const Record& record : run.records) {
      ASSERT_LT(record.layer, run.heights_mm.size());
      ASSERT_LT(record.tool, 2);
      if (record.kind != RecordKind::move)
        continue;
      ASSERT_TRUE(std::isfinite(record.move.e_mm) && std::isfinite(record.move.feed_mm_s) &&
                  std::isfinite(record.move.sweep_rad) && record.move.feed_mm_s >= 0.0)
          << text;
      for (std::size_t axis = 0; axis < 3; ++axis)
        ASSERT_TRUE(std::abs(record.move.to_mm[axis]) < 1e9) << text;
      ASSERT_GE(record.tool, record.move.e_mm != 0.0 ? 0 : -1);
    }
    ASSERT_EQ(run.records.back().kind, RecordKind::end_of_plate);
  }
}

}  // namespace
}  // namespace platetally::interpreter::test
