// platetally record: writes what a metering plug says, line by line, until it is interrupted.
#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstring>
#include <memory>

#include "base/units.hpp"
#include "output/cli/clock.hpp"
#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/mqtt.hpp"
#include "output/cli/reading.hpp"
#include "output/cli/record_file.hpp"
#include "output/cli/report_options.hpp"

namespace platetally::cli {

namespace {

volatile std::sig_atomic_t g_stop = 0;

void stop(int) {
  g_stop = 1;
}

struct RecordArguments {
  std::string broker;
  int port = 1883;
  std::string topic;
  std::string user;
  std::string password_file;
  std::string input;
  std::string pointer;
  bool is_wh = false;
  double gap_s = 30.0;
  double idle_w = 30.0;
  double until_idle_min = 0.0;
  double for_min = 0.0;
  std::string output;
};

double steady_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

class Recording {
 public:
  explicit Recording(const RecordArguments& arguments)
      : arguments_(arguments),
        file_(arguments.output, arguments.is_wh, arguments.gap_s),
        begin_s_(steady_s()) {}

  /// A message that the broker has kept: when the plug said it, nobody knows.
  void retained(std::string_view text) {
    mark(fmt::format("a message that the broker had kept was left out: {}", text.substr(0, 80)));
  }

  void payload(std::string_view text) {
    const auto value = read_payload(text, arguments_.pointer);
    if (!value) {
      if (rejected_++ == 0)
        say(harmless(
            fmt::format("a message without a number was left out: {}", text.substr(0, 80))));
      return;
    }
    if (const auto w = file_.take(*value, now_exact_s())) {
      const bool idles = *w <= arguments_.idle_w;
      if (idles && !idles_)
        idle_since_s_ = steady_s();
      idles_ = idles;
      was_busy_ = was_busy_ || !idles;
    }
  }

  bool goes_on() const {
    const double now_s = steady_s();
    if (g_stop != 0 || (arguments_.for_min > 0.0 &&
                        now_s - begin_s_ > base::kSecondsPerMinute * arguments_.for_min))
      return false;
    // Only what was seen to idle idles: a broker or plug that falls silent during a print ends
    // nothing.
    return !(arguments_.until_idle_min > 0.0 && was_busy_ && idles_ &&
             now_s - idle_since_s_ > base::kSecondsPerMinute * arguments_.until_idle_min);
  }

  void mark(std::string_view what) { file_.mark(what); }

  int end() {
    if (rejected_ > 1)
      say(fmt::format("{} messages without a number were left out", rejected_));
    if (file_.left_out() > 0)
      say(fmt::format("{} values beyond {:.0f} W were left out; they are marked in the file",
                      file_.left_out(), RecordFile::kMost_w));
    say(fmt::format("{} samples recorded, {} gaps", file_.samples(), file_.gaps()));
    return kDone;
  }

 private:
  const RecordArguments& arguments_;
  RecordFile file_;
  double begin_s_;
  double idle_since_s_ = 0.0;
  bool idles_ = false;  // by the last sample
  bool was_busy_ = false;
  std::uint64_t rejected_ = 0;
};

/// Lines from standard input, a file or a device, as they come.
int record_lines(const RecordArguments& arguments, Recording& recording) {
  int fd = STDIN_FILENO;
  if (arguments.input != "-") {
    fd = ::open(arguments.input.c_str(), O_RDONLY | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
      throw RunError(fmt::format("{}: {}", arguments.input, std::strerror(errno)));
  }
  constexpr std::size_t kLongestLine = 65536;
  std::string pending;
  std::array<char, 4096> block{};
  while (recording.goes_on()) {
    pollfd wait{fd, POLLIN, 0};
    constexpr int kPoll_ms = 200;
    if (::poll(&wait, 1, kPoll_ms) <= 0)
      continue;
    const ssize_t count = ::read(fd, block.data(), block.size());
    if (count == 0)
      break;
    if (count < 0) {
      if (errno == EINTR || errno == EAGAIN)
        continue;
      recording.mark(fmt::format("{}: {}", arguments.input, std::strerror(errno)));
      break;
    }
    pending.append(block.data(), static_cast<std::size_t>(count));
    std::size_t from = 0;
    for (std::size_t end = pending.find('\n', from); end != std::string::npos;
         end = pending.find('\n', from)) {
      recording.payload(std::string_view(pending).substr(from, end - from));
      from = end + 1;
    }
    pending.erase(0, from);
    if (pending.size() > kLongestLine)
      pending.clear();
  }
  if (!pending.empty())
    recording.payload(pending);
  if (fd != STDIN_FILENO)
    ::close(fd);
  return recording.end();
}

int record_broker(const RecordArguments& arguments, Recording& recording) {
  Subscription subscription(
      {arguments.broker, arguments.port, arguments.topic, arguments.user, arguments.password_file});
  while (recording.goes_on())
    subscription.wait(
        [&](std::string_view payload, bool retained) {
          if (retained)
            recording.retained(payload);
          else
            recording.payload(payload);
        },
        [&](std::string_view what) {
          say(harmless(what));
          recording.mark(what);
        });
  return recording.end();
}

int record(const RecordArguments& arguments) {
  const bool from_broker = !arguments.broker.empty();
  if (from_broker == !arguments.input.empty())
    throw UsageError(
        "record needs --broker HOST with --topic, or --input FILE (- is standard input)");
  if (from_broker && arguments.topic.empty())
    throw UsageError("--broker needs --topic");
  if (arguments.output.empty())
    throw UsageError("record needs -o FILE");
  std::signal(SIGINT, stop);
  std::signal(SIGTERM, stop);
  say("measure with a listed plug-in meter only and never open a supply; attend a hot machine; "
      "local "
      "codes apply");
  Recording recording(arguments);
  return from_broker ? record_broker(arguments, recording) : record_lines(arguments, recording);
}

}  // namespace

Run add_record(Program& program) {
  const auto arguments = std::make_shared<RecordArguments>();
  const Command command = program.command("record", "write down what a metering plug says");
  const auto add = [&](const char* name, auto& place, const char* what, const char* type) {
    return command.option(name, place, what).takes(type).in_group("Input");
  };
  add("--broker", arguments->broker, "an MQTT broker", "HOST");
  add("--port", arguments->port, "of the broker", "N").between(1, 65535);
  add("--topic", arguments->topic, "where the plug's messages are", "TOPIC");
  add("--user", arguments->user, "of the broker, if it asks", "NAME");
  add("--password-file", arguments->password_file, "a file with the password in its first line",
      "FILE");
  add("--input", arguments->input, "lines instead: a file, a device, or -", "FILE");
  add("--pointer", arguments->pointer, "where in a JSON message the number is, such as /power",
      "POINTER");
  command.flag("--wh", arguments->is_wh, "the numbers are watt-hours that add up, not watts")
      .in_group("Input");
  add("--gap", arguments->gap_s, "silence longer than this is marked", "SECONDS")
      .between(0.1, 86400.0);
  add("--idle", arguments->idle_w, "below this the machine idles", "WATTS").between(0.0, 1e5);
  add("--until-idle", arguments->until_idle_min, "end once it has idled this long", "MINUTES")
      .between(0.001, 1e5);
  add("--for", arguments->for_min, "end after this long", "MINUTES").between(0.001, 1e6);
  command.option("-o,--output", arguments->output, "a CSV file; an older one is continued")
      .takes("FILE")
      .in_group("Output");
  command.footer(
      "Example: platetally record --broker localhost --topic workshop/plug --pointer /power "
      "--until-idle 20 -o plug.csv");
  return [arguments] { return record(*arguments); };
}

}  // namespace platetally::cli
