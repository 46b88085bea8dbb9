// A hash of bytes: what a content, a description or a list of options is known again by.
#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace platetally::base {

/// 128 bits (XXH3) in hexadecimal, of bytes that come in pieces. No secret is needed to find two
/// contents with one hash: it tells contents apart, and proves nothing against somebody who forges.
class Hash {
 public:
  Hash();
  Hash(const Hash&) = delete;
  Hash& operator=(const Hash&) = delete;
  ~Hash();

  void add(std::string_view bytes);
  std::string text() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

std::string hash_of_text(std::string_view text);

}  // namespace platetally::base
