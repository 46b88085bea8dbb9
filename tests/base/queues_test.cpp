// Queues that keep running numbers, held against a plain deque.
#include <gtest/gtest.h>

#include <deque>
#include <random>

#include "base/column_queue.hpp"
#include "base/list_queue.hpp"

namespace platetally::base {
namespace {

TEST(ColumnQueue, IsAsADequeOfRowsWhateverIsAppendedAndDropped) {
  for (unsigned seed = 1; seed <= 6; ++seed) {
    std::mt19937 random(seed);
    ColumnQueue<3> queue;
    std::deque<double> rows;
    std::uint64_t appended = 0, dropped = 0;
    for (int step = 0; step < 400; ++step) {
      const std::size_t more = random() % (seed < 4 ? 40 : 700);
      queue.make_room(more);
      for (std::size_t i = 0; i < more; ++i) {
        const double value = static_cast<double>(appended + i);
        queue.behind(0)[i] = value;
        queue.behind(1)[i] = -value;
        queue.behind(2)[i] = 0.5 * value;
        rows.push_back(value);
      }
      queue.append(more);
      appended += more;
      const std::size_t fewer = rows.empty() ? 0 : random() % (rows.size() + 1);
      queue.drop(fewer);
      rows.erase(rows.begin(), rows.begin() + static_cast<std::ptrdiff_t>(fewer));
      dropped += fewer;
      ASSERT_EQ(queue.size(), rows.size());
      ASSERT_EQ(queue.first(), dropped);
      ASSERT_EQ(queue.end(), appended);
      for (std::size_t i = 0; i < rows.size(); ++i) {
        ASSERT_EQ(queue.column(0)[i], rows[i]);
        ASSERT_EQ(queue.column(1)[i], -rows[i]);
        ASSERT_EQ(queue.column(2)[i], 0.5 * rows[i]);
      }
    }
    EXPECT_GT(dropped, 1000U);
  }
}

TEST(ColumnQueue, RowsWithinTheRoomThatWasMadeMoveNothing) {
  ColumnQueue<1> queue;
  queue.make_room(5000);
  const double* const place = queue.behind(0);
  for (int i = 0; i < 5000; ++i) {
    queue.make_room(1);
    queue.append(1);
  }
  EXPECT_EQ(queue.column(0), place);
  EXPECT_EQ(queue.size(), 5000U);
}

TEST(ColumnQueue, EmptiedBeginsAtTheFrontAndKeepsCounting) {
  ColumnQueue<1> queue;
  EXPECT_EQ(queue.size(), 0U);
  queue.make_room(10);
  const double* const place = queue.behind(0);
  for (std::uint64_t round = 1; round <= 1000; ++round) {
    queue.make_room(10);
    queue.append(10);
    queue.drop(10);
    ASSERT_EQ(queue.first(), 10 * round);
    ASSERT_EQ(queue.end(), 10 * round);
  }
  EXPECT_EQ(queue.behind(0), place) << "ten thousand rows went through the room of the first";
}

TEST(ListQueue, IsAsADequeAndNumbersStay) {
  std::mt19937 random(8);
  ListQueue<int> queue;
  std::deque<int> kept;
  std::uint64_t first = 0;
  int next = 0;
  for (int step = 0; step < 60000; ++step) {
    // More go in than out for a while, then the other way round.
    const bool grows = (step / 6000) % 2 == 0;
    if (kept.empty() || random() % 10 < (grows ? 8U : 2U)) {
      queue.push(next);
      kept.push_back(next++);
    } else {
      queue.drop_front();
      kept.pop_front();
      ++first;
    }
    ASSERT_EQ(queue.size(), kept.size());
    ASSERT_EQ(queue.empty(), kept.empty());
    ASSERT_EQ(queue.first(), first);
    ASSERT_EQ(queue.end(), static_cast<std::uint64_t>(next));
    if (kept.empty())
      continue;
    ASSERT_EQ(queue.front(), kept.front());
    ASSERT_EQ(queue.back(), kept.back());
    const std::uint64_t any = first + random() % kept.size();
    ASSERT_EQ(queue[any], static_cast<int>(any)) << "the n-th that was pushed is number n";
  }
  EXPECT_GT(first, 4000U) << "enough to be moved up";
}

TEST(ListQueue, ClearedNumbersGoOn) {
  ListQueue<int> queue;
  for (int i = 0; i < 5; ++i)
    queue.push(i);
  queue.drop_front();
  queue.clear();
  EXPECT_TRUE(queue.empty());
  EXPECT_EQ(queue.first(), 5U);
  queue.push(77);
  EXPECT_EQ(queue[5], 77);
  queue[5] = 78;
  EXPECT_EQ(queue.front(), 78);
  queue.back() = 79;
  EXPECT_EQ(queue[5], 79);
}

}  // namespace
}  // namespace platetally::base
