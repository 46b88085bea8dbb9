// What the user asks of `audit`.
#pragma once

#include <string>
#include <vector>

#include "output/cli/variant_options.hpp"
#include "platetally/audit.hpp"

namespace platetally::cli {

struct AuditArguments {
  std::vector<std::string> paths;
  std::string machine;
  std::string materials;
  std::string colours;
  std::string prices;
  int copies = 1;
  std::vector<std::string> include;
  std::vector<std::string> exclude;
  std::string sort;
  std::vector<std::string> limits;
  int top = 20;
  int threads = 0;  ///< 0: as many as there are
  std::string format = "text";
  std::string date;
  std::string output;
  bool json = false;
  bool progress = false;
  bool no_progress = false;
  bool verbose = false;
  std::string history;
  std::string since;
  std::string shard;
  std::vector<std::string> merge;
  VariantArguments what_if;
  bool partial = false;
  bool strict = false;
  std::string value;  ///< empty: the usual
  bool watch = false;
  double settle_s = 5.0;
  double every_s = 2.0;
  std::string out;
  std::string finished;
};

/// The options of the library, without what is called back. Throws UsageError, RunError.
AuditOptions audit_options(const AuditArguments& arguments, const Machine& machine);

/// `audit --watch`: until it is interrupted. Gives the exit code.
int watch_folders(const AuditArguments& arguments, const Machine& machine);

}  // namespace platetally::cli
