// Filament is neither made nor lost: books by layer, tool, use, pair and mark say the same,
// whatever a plate does, and go on doing so when a verdict moves filament.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <random>
#include <vector>

#include "base/units.hpp"
#include "material/swaps/support.hpp"

namespace platetally::swaps {
namespace {

using interpreter::Record;

constexpr int kTools = 3;

Machine workshop() {
  Machine machine = two_tools();
  machine.heads.resize(kTools);
  machine.tools.resize(kTools);
  machine.tools[2].filament_diameter_mm = 2.85;
  machine.waste_areas.push_back({"bin", 180, 200, 0, 20});
  machine.swap.hidden_purge_mm3 = 30.0;
  return machine;
}

/// Whatever can happen to filament, in any order.
std::vector<Record> anything(unsigned seed, std::size_t count) {
  std::mt19937 random(seed);
  const auto amount = [&random] { return 0.01 * static_cast<double>(1 + random() % 400); };
  std::vector<Record> records{test::select(0, -1)};
  int tool = 0;
  std::uint32_t layer = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const test::Point here{static_cast<double>(random() % 220), static_cast<double>(random() % 220),
                           0.2 * layer};
    const test::Point there{here.x_mm + 5, here.y_mm + 1, here.z_mm};
    const std::uint8_t flags = random() % 6 == 0 ? std::uint8_t{interpreter::kMarkedPurge} : 0;
    switch (random() % 10) {
      case 0: {
        const int to = static_cast<int>(random() % kTools);
        records.push_back(test::select(to, tool, layer));
        tool = to;
        break;
      }
      case 1:
        layer += random() % 2 == 0 ? 1U : 0U;
        break;
      case 2:
        records.push_back(test::feed(-amount(), tool, layer, flags));
        break;
      case 3:
      case 4:
        records.push_back(test::feed(amount(), tool, layer, flags));
        break;
      case 5:
        records.push_back(test::move(here, there, 0.0, 0.1, tool, layer, flags));
        break;
      case 6:  // a wipe
        records.push_back(test::move(here, there, -0.1 * amount(), 0.1, tool, layer, flags));
        break;
      default:
        records.push_back(test::move(here, there, amount(), 0.1, tool, layer, flags));
    }
  }
  return records;
}

struct Told {
  std::array<double, kTools> fed_mm{};
  std::array<double, kTools> purge_mm{};  ///< as each move was answered
  std::array<double, kTools> start_up_mm{};
  std::array<std::array<std::uint64_t, kTools>, kTools> swaps{};
};

Told tell(const std::vector<Record>& records, WatchedBook& book) {
  Told told;
  timeline::SwapWatch watch;  // the stage before decides what a swap is
  for (const Record& record : records) {
    const Feed feed = book(record);
    if (const timeline::Swap swap = watch.see(record); swap.selection == timeline::Selection::swap)
      ++told.swaps[static_cast<std::size_t>(swap.from)][static_cast<std::size_t>(swap.to)];
    if (record.kind != interpreter::RecordKind::move)
      continue;
    const auto tool = static_cast<std::size_t>(record.tool);
    told.fed_mm[tool] += record.move.e_mm;
    if (feed.use == Use::purge)
      told.purge_mm[tool] += feed.fresh_mm + feed.earlier_mm;
    if (feed.use == Use::start_up)
      told.start_up_mm[tool] += feed.fresh_mm + feed.earlier_mm;
    EXPECT_GE(feed.fresh_mm, 0.0);
    EXPECT_LE(feed.fresh_mm, std::max(0.0, record.move.e_mm) + 1e-12);
  }
  return told;
}

void expect_books_agree(const PurgeBook& book) {
  const MaterialBook& material = book.material();
  double purge_mm = 0.0;
  for (std::size_t tool = 0; tool < kTools; ++tool) {
    const ToolFilament of_tool = book.tools()[tool];
    purge_mm += of_tool.purge_mm;
    double by_mark_mm = 0.0;
    for (const Mark mark : {Mark::none, Mark::at_rest, Mark::place, Mark::comment, Mark::tower})
      by_mark_mm += book.purge_mm(tool, mark);
    EXPECT_NEAR(by_mark_mm, of_tool.purge_mm, 1e-9);
    double coming_mm = 0.0;
    for (std::size_t from = 0; from < kTools; ++from)
      coming_mm += book.pairs()[from * kTools + tool].purge_mm;
    EXPECT_NEAR(of_tool.part_mm() + of_tool.purge_mm + of_tool.start_up_mm, of_tool.net_mm, 1e-9);
    for (std::size_t use = 0; use < kUses; ++use) {
      double by_layer_mm = 0.0;
      for (std::uint32_t layer = 0; layer < 400; ++layer)
        by_layer_mm += material.at(layer, tool).by_use_mm[use];
      EXPECT_NEAR(by_layer_mm, material.of_tool(tool).by_use_mm[use], 1e-9);
    }
  }
  double by_pair_mm = 0.0;
  std::uint64_t swaps = 0;
  for (const PairBook& pair : book.pairs()) {
    by_pair_mm += pair.purge_mm;
    swaps += pair.count;
  }
  EXPECT_NEAR(by_pair_mm, purge_mm, 1e-9);
  EXPECT_EQ(swaps, book.swaps());
  double layers_mm = 0.0, tools_mm = 0.0;
  for (std::uint32_t layer = 0; layer < 400; ++layer)
    layers_mm += material.of_layer(layer).fed_mm();
  for (std::size_t tool = 0; tool < kTools; ++tool)
    tools_mm += material.of_tool(tool).fed_mm();
  EXPECT_NEAR(layers_mm, tools_mm, 1e-9);
}

TEST(Books, AgreeWhateverAPlateDoes) {
  const Machine machine = workshop();
  for (unsigned seed = 1; seed <= 40; ++seed) {
    SCOPED_TRACE(seed);
    WatchedBook book(machine);
    const Told told = tell(anything(seed, 400), book);
    expect_books_agree(*book);
    for (std::size_t tool = 0; tool < kTools; ++tool) {
      EXPECT_NEAR((*book).tools()[tool].net_mm, told.fed_mm[tool], 1e-9);
      EXPECT_NEAR((*book).tools()[tool].purge_mm, told.purge_mm[tool], 1e-9);
      EXPECT_NEAR((*book).tools()[tool].start_up_mm, told.start_up_mm[tool], 1e-9);
      for (std::size_t to = 0; to < kTools; ++to) {
        const PairBook& pair = (*book).pairs()[tool * kTools + to];
        EXPECT_EQ(pair.count, told.swaps[tool][to]);
        EXPECT_NEAR(pair.hidden_purge_mm,
                    static_cast<double>(pair.count) * 30.0 /
                        base::filament_area_mm2(machine.tools[to].filament_diameter_mm),
                    1e-9);
      }
    }
  }
}

TEST(Books, AgreeWhenVerdictsMoveFilament) {
  const Machine machine = workshop();
  double all_moved_mm = 0.0;
  for (unsigned seed = 1; seed <= 30; ++seed) {
    SCOPED_TRACE(seed);
    WatchedBook book(machine);
    tell(anything(seed, 300), book);
    const std::vector<ToolFilament> before = (*book).tools();
    for (const Recounted& early : (*book).settle_early())
      (*book).recount(early);
    expect_books_agree(*book);
    std::mt19937 random(seed);
    double moved_mm = 0.0;
    for (int i = 0; i < 20; ++i) {
      const auto tool = static_cast<int>(random() % kTools);
      const auto layer = static_cast<std::uint32_t>(random() % 8);
      const double mm =
          0.5 * (*book).material().at(layer, static_cast<std::size_t>(tool)).of(Use::part);
      moved_mm += mm;
      (*book).recount({.layer = layer,
                       .tool = tool,
                       .mm = mm,
                       .mark = Mark::tower,
                       .from = (tool + 1) % kTools,
                       .to = tool});
    }
    all_moved_mm += moved_mm;
    expect_books_agree(*book);
    double tower_mm = 0.0;
    for (std::size_t tool = 0; tool < kTools; ++tool) {
      tower_mm += (*book).purge_mm(tool, Mark::tower);
      EXPECT_NEAR((*book).tools()[tool].net_mm, before[tool].net_mm, 1e-9) << "nothing is made";
    }
    EXPECT_NEAR(tower_mm, moved_mm, 1e-9);
  }
  EXPECT_GT(all_moved_mm, 100.0);
}

TEST(Books, OfRenumberedToolsAreTheSameRenumbered) {
  Machine machine = workshop();
  for (Tool& tool : machine.tools)
    tool.filament_diameter_mm = 1.75;
  const std::array<int, kTools> numbers{2, 0, 1};
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const std::vector<Record> records = anything(seed, 300);
    std::vector<Record> renumbered = records;
    const auto number = [&numbers](int tool) {
      return tool < 0 ? tool : numbers[static_cast<std::size_t>(tool)];
    };
    for (Record& record : renumbered) {
      record.tool = static_cast<std::int16_t>(number(record.tool));
      if (record.kind == interpreter::RecordKind::select_tool)
        record.event.tool = number(record.event.tool);
    }
    WatchedBook book(machine), other(machine);
    tell(records, book);
    tell(renumbered, other);
    for (std::size_t tool = 0; tool < kTools; ++tool) {
      const auto there = static_cast<std::size_t>(numbers[tool]);
      EXPECT_NEAR((*other).tools()[there].purge_mm, (*book).tools()[tool].purge_mm, 1e-9);
      EXPECT_NEAR((*other).tools()[there].part_mm(), (*book).tools()[tool].part_mm(), 1e-9);
      for (std::size_t to = 0; to < kTools; ++to)
        EXPECT_NEAR(
            (*other).pairs()[there * kTools + static_cast<std::size_t>(numbers[to])].purge_mm,
            (*book).pairs()[tool * kTools + to].purge_mm, 1e-9);
    }
  }
}

TEST(Books, AStrokeInTwoHalvesIsTheStroke) {
  const Machine machine = workshop();
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const std::vector<Record> records = anything(seed, 300);
    std::vector<Record> halved;
    for (const Record& record : records) {
      const bool is_stroke =
          record.kind == interpreter::RecordKind::move && !record.move.is_above_one_place();
      halved.push_back(record);
      if (!is_stroke)
        continue;
      // Both halves lie where the whole does: a waste area asks for the middle.
      halved.back().move.e_mm *= 0.5;
      halved.push_back(halved.back());
    }
    WatchedBook book(machine), other(machine);
    tell(records, book);
    tell(halved, other);
    for (std::size_t tool = 0; tool < kTools; ++tool) {
      EXPECT_NEAR((*other).tools()[tool].purge_mm, (*book).tools()[tool].purge_mm, 1e-9);
      EXPECT_NEAR((*other).tools()[tool].start_up_mm, (*book).tools()[tool].start_up_mm, 1e-9);
      EXPECT_NEAR((*other).tools()[tool].net_mm, (*book).tools()[tool].net_mm, 1e-9);
    }
  }
}

TEST(Books, FilamentAtRestIsPurgeHoweverItIsPortioned) {
  const Machine machine = workshop();
  for (const int portions : {1, 2, 3, 10, 50}) {
    WatchedBook book(machine);
    book(test::select(0, -1));
    book(lay(1.0, 0));
    book(test::select(1, 0));
    for (int i = 0; i < portions; ++i)
      book(test::feed(30.0 / portions, 1));
    EXPECT_NEAR((*book).tools()[1].purge_mm, 30.0, 1e-9) << portions;
    EXPECT_NEAR((*book).pairs()[1].purge_mm, 30.0, 1e-9) << portions;
  }
}

TEST(MaterialBook, HasNothingWhereNothingWasAdded) {
  MaterialBook book(2);
  EXPECT_EQ(book.at(5, 1).fed_mm(), 0.0);
  EXPECT_EQ(book.of_layer(1000).fed_mm(), 0.0);
  book.add(3, 1, Use::part, 5.0);
  book.add(3, 1, Use::none, -0.8);
  book.add_hidden(3, 1, 2.0);
  EXPECT_DOUBLE_EQ(book.at(3, 1).fed_mm(), 4.2);
  EXPECT_DOUBLE_EQ(book.at(3, 1).laid_mm(), 5.0);
  EXPECT_DOUBLE_EQ(book.at(3, 1).part_mm(), 4.2) << "what is drawn back is the part's";
  EXPECT_EQ(book.at(3, 1).hidden_mm, 2.0);
  EXPECT_EQ(book.at(3, 0).fed_mm(), 0.0);
  EXPECT_EQ(book.at(2, 1).fed_mm(), 0.0);
  book.move(3, 1, Use::part, Use::purge, 2.0);
  EXPECT_DOUBLE_EQ(book.at(3, 1).fed_mm(), 4.2);
  EXPECT_DOUBLE_EQ(book.of_tool(1).of(Use::purge), 2.0);
  EXPECT_DOUBLE_EQ(book.of_layer(3).hidden_mm, 2.0);
}

TEST(Box, GrowsMeetsAndHolds) {
  Box box;
  EXPECT_TRUE(box.empty());
  box.include(10.0, 20.0);
  EXPECT_FALSE(box.empty());
  EXPECT_EQ(box.width_mm(), 0.0F);
  box.include(14.0, 17.0);
  EXPECT_EQ(box.width_mm(), 4.0F);
  EXPECT_EQ(box.depth_mm(), 3.0F);
  Box other;
  other.include(16.0, 17.0);
  EXPECT_FALSE(box.meets(other, 1.9F));
  EXPECT_TRUE(box.meets(other, 2.0F)) << "at the margin they meet";
  EXPECT_TRUE(other.meets(box, 2.0F));
  EXPECT_FALSE(other.lies_in(box, 1.9F));
  EXPECT_TRUE(other.lies_in(box, 2.0F));
  box.include(other);
  EXPECT_TRUE(other.lies_in(box, 0.0F));
  EXPECT_EQ(box.width_mm(), 6.0F);
}

}  // namespace
}  // namespace platetally::swaps
