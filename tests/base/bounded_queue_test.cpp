#include "base/bounded_queue.hpp"

#include <gtest/gtest.h>

#include <thread>
#include <vector>

namespace platetally::base {
namespace {

TEST(BoundedQueue, DeliversEverythingInOrderAcrossThreads) {
  BoundedQueue<std::vector<int>> ring(3);
  constexpr int kBatches = 2000;
  std::thread producer([&ring] {
    std::vector<int> batch;
    for (int i = 0; i < kBatches; ++i) {
      batch.assign(static_cast<std::size_t>(i % 5), i);
      ring.push(batch);
      EXPECT_TRUE(batch.empty());
    }
    ring.close();
  });
  std::vector<int> batch;
  int next = 0;
  while (ring.pop(batch)) {
    ASSERT_EQ(batch.size(), static_cast<std::size_t>(next % 5));
    for (const int value : batch)
      ASSERT_EQ(value, next);
    ++next;
  }
  producer.join();
  EXPECT_EQ(next, kBatches);
}

TEST(BoundedQueue, AProducerIsLetGoWhenTheConsumerGivesUp) {
  BoundedQueue<std::vector<int>> ring(1);
  bool refused = false;
  std::thread producer([&] {
    std::vector<int> batch{1};
    while (ring.push(batch))
      batch.assign(1, 1);
    refused = true;
  });
  ring.abandon();
  producer.join();
  EXPECT_TRUE(refused);
}

TEST(BoundedQueue, CloseLetsTheRestOut) {
  BoundedQueue<std::vector<int>> ring(4);
  std::vector<int> batch{7};
  ring.push(batch);
  ring.close();
  std::vector<int> taken;
  EXPECT_TRUE(ring.pop(taken));
  EXPECT_EQ(taken, std::vector<int>{7});
  EXPECT_FALSE(ring.pop(taken));
}

}  // namespace
}  // namespace platetally::base
