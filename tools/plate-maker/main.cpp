// plate-maker: writes sliced plates of known truth, for demonstrations, tests and benchmarks.
//
// It shares no code with platetally: what it says of a plate comes from what it meant to write, not
// from reading it.
#include <cstdio>
#include <memory>
#include <string>
#include <vector>

#include "pen.hpp"
#include "plate.hpp"

namespace {

struct CloseFile {
  void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, CloseFile>;

bool write_file(const std::string& path, const std::string& text) {
  File file(std::fopen(path.c_str(), "wb"));
  return file && std::fwrite(text.data(), 1, text.size(), file.get()) == text.size() &&
         std::fclose(file.release()) == 0;
}

int fail(const std::string& message) {
  std::fprintf(stderr, "plate-maker: %s\n", message.c_str());
  return 2;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace plate_maker;
  const Request request = read_arguments({argv + 1, argv + argc});
  if (request.help) {
    std::fputs(usage().c_str(), stdout);
    return 0;
  }
  if (!request.error.empty())
    return fail(request.error + " (plate-maker --help lists what there is)");
  const Options& options = request.options;
  File file(std::fopen(request.output.c_str(), "wb"));
  if (!file)
    return fail("cannot write " + request.output);
  LineWriter writer(file.get(), {options.crlf, options.checksums});
  Truth truth(mm_per_xyz(options), mm_per_e(options), options.filament_mm);
  make_plate(options, writer, truth);
  if (!writer.ok() || std::fclose(file.release()) != 0)
    return fail("cannot write all of " + request.output);
  if (!request.truth.empty() &&
      !write_file(request.truth, truth.to_json(writer.bytes(), writer.lines())))
    return fail("cannot write " + request.truth);
  return 0;
}
