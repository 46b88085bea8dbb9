// Bytes that come a few at a time.
#pragma once

#include <algorithm>
#include <cstring>
#include <random>
#include <span>
#include <string>
#include <utility>

#include "reading/source/byte_source.hpp"

namespace platetally::source {

/// Gives at most `most` bytes at a time.
class Dripping : public ByteSource {
 public:
  Dripping(std::string bytes, std::size_t most) : bytes_(std::move(bytes)), most_(most) {}
  std::size_t read(std::span<char> room) override {
    const std::size_t count = std::min({step(), room.size(), bytes_.size() - given_});
    std::memcpy(room.data(), bytes_.data() + given_, count);
    given_ += count;
    return count;
  }

 protected:
  virtual std::size_t step() { return most_; }
  std::size_t most() const { return most_; }

 private:
  std::string bytes_;
  std::size_t most_;
  std::size_t given_ = 0;
};

/// Gives between 1 and `most` bytes at a time, by chance.
class Trickling : public Dripping {
 public:
  using Dripping::Dripping;

 private:
  std::size_t step() override { return 1 + random_() % most(); }
  std::mt19937 random_{7};
};

}  // namespace platetally::source
