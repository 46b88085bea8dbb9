// Objects that comments name: plain words of the trade, and the patterns of a machine file.
//
// A mark is a comment alone on its line that says one of
//   begin object NAME    start of object NAME    object start NAME
//   end object           end of object NAME      object end
//   object NAME          object: NAME            where NAME is one word or stands in quotes
// or the same with another verb for begin (start, print) and end (stop, finish, done),
// in any case, with blanks, hyphens or underscores between the words. Settings ("key = value") are
// none. An object goes on until it is ended or another begins; comments of the same name are the
// same object.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally::interpreter {

class ObjectMarks {
 public:
  static constexpr int kNone = -1;
  /// Objects of further names are told apart by where they lie.
  static constexpr std::size_t kMostNames = 2000;

  explicit ObjectMarks(const Dialect& dialect) : dialect_(dialect) {}

  /// From now on comments are read.
  void watch() { watches_ = true; }
  bool watches() const { return watches_; }

  /// A comment. Returns the number of the object in force behind it, if it changes.
  std::optional<int> take(std::string_view comment, bool alone);

  /// By number; a name is of at most 80 bytes.
  const std::vector<std::string>& names() const { return names_; }

 private:
  std::optional<int> take_pattern(std::string_view text, bool& is_one);
  std::optional<int> change_to(int object);
  int number_of(std::string_view name);

  const Dialect& dialect_;
  bool watches_ = false;
  int object_ = kNone;
  std::vector<std::string> names_;
  std::map<std::string, int, std::less<>> numbers_;
};

}  // namespace platetally::interpreter
