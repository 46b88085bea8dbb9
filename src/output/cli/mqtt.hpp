// A subscription at an MQTT broker that survives the broker.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>

namespace platetally::cli {

struct Broker {
  std::string host;
  int port = 1883;
  std::string topic;
  std::string user;
  std::string password_file;
};

class Subscription {
 public:
  /// Throws RunError where the arguments make no sense; a broker that is not there is waited for.
  explicit Subscription(const Broker& broker);
  ~Subscription();
  Subscription(const Subscription&) = delete;
  Subscription& operator=(const Subscription&) = delete;

  /// A fraction of a second of messages; connects again where the connection is gone, and says so.
  /// `retained`: the broker has kept it since nobody knows when, and gives it to whoever connects.
  void wait(const std::function<void(std::string_view payload, bool retained)>& on_payload,
            const std::function<void(std::string_view what)>& on_change);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace platetally::cli
