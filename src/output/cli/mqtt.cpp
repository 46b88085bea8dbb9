#include "output/cli/mqtt.hpp"

#include <fmt/format.h>
#include <mosquitto.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstring>
#include <fstream>
#include <thread>
#include <vector>

#include "output/cli/commands.hpp"

namespace platetally::cli {

namespace {

constexpr int kKeepAlive_s = 15;
constexpr int kLoop_ms = 200;
constexpr auto kBetweenTries = std::chrono::milliseconds(500);

}  // namespace

struct Subscription::State {
  Broker broker;
  mosquitto* client = nullptr;
  bool connected = false;
  bool was_connected = false;
  bool said_waiting = false;
  int refused = 0;  ///< why the broker did not let us in, until it is said; 0: it did
  bool said_refused = false;
  struct Message {
    std::string payload;
    bool retained;
  };
  std::vector<Message> messages;
  std::chrono::steady_clock::time_point last_try{};

  static void on_connect(mosquitto* client, void* object, int result) {
    auto* state = static_cast<State*>(object);
    state->connected = result == 0;
    state->refused = result;
    if (result == 0)
      mosquitto_subscribe(client, nullptr, state->broker.topic.c_str(), 1);
  }
  static void on_disconnect(mosquitto*, void* object, int) {
    static_cast<State*>(object)->connected = false;
  }
  static void on_message(mosquitto*, void* object, const mosquitto_message* message) {
    static_cast<State*>(object)->messages.push_back(
        {{static_cast<const char*>(message->payload),
          static_cast<std::size_t>(message->payloadlen)},
         message->retain});
  }
};

Subscription::Subscription(const Broker& broker) : state_(std::make_unique<State>()) {
  state_->broker = broker;
  if (mosquitto_sub_topic_check(broker.topic.c_str()) != MOSQ_ERR_SUCCESS)
    throw RunError(fmt::format("--topic: '{}' is no topic", broker.topic));
  mosquitto_lib_init();
  // A name of its own and a session that lasts: what arrives while we are away is delivered later.
  const std::string name = fmt::format("platetally-{}", ::getpid());
  state_->client = mosquitto_new(name.c_str(), false, state_.get());
  if (state_->client == nullptr)
    throw RunError("out of memory");
  if (!broker.user.empty()) {
    std::string password;
    if (!broker.password_file.empty()) {
      std::ifstream file(broker.password_file);
      if (!std::getline(file, password))
        throw RunError(fmt::format("{}: cannot be read", broker.password_file));
    }
    mosquitto_username_pw_set(state_->client, broker.user.c_str(), password.c_str());
  }
  mosquitto_connect_callback_set(state_->client, State::on_connect);
  mosquitto_disconnect_callback_set(state_->client, State::on_disconnect);
  mosquitto_message_callback_set(state_->client, State::on_message);
}

Subscription::~Subscription() {
  if (state_->client != nullptr) {
    mosquitto_disconnect(state_->client);
    mosquitto_destroy(state_->client);
  }
  mosquitto_lib_cleanup();
}

void Subscription::wait(const std::function<void(std::string_view, bool)>& on_payload,
                        const std::function<void(std::string_view)>& on_change) {
  const bool before = state_->connected;
  if (mosquitto_socket(state_->client) < 0) {
    state_->connected = false;
    const auto now = std::chrono::steady_clock::now();
    if (now - state_->last_try < kBetweenTries) {
      std::this_thread::sleep_for(std::chrono::milliseconds(kLoop_ms));
    } else {
      state_->last_try = now;
      const int result = mosquitto_connect(state_->client, state_->broker.host.c_str(),
                                           state_->broker.port, kKeepAlive_s);
      if (result != MOSQ_ERR_SUCCESS && !state_->was_connected && !state_->said_waiting) {
        state_->said_waiting = true;
        on_change(fmt::format("waiting for the broker at {}:{}: {}", state_->broker.host,
                              state_->broker.port,
                              result == MOSQ_ERR_ERRNO ? std::string(std::strerror(errno))
                              : result == MOSQ_ERR_EAI
                                  ? std::string("no computer of that name is known; check --broker")
                                  : std::string(mosquitto_strerror(result))));
      }
    }
  } else {
    mosquitto_loop(state_->client, kLoop_ms, 1);
  }
  if (state_->refused != 0 && !state_->said_refused) {
    state_->said_refused = true;
    on_change(fmt::format(
        "the broker at {}:{} refuses: {} Trying on; check --user and "
        "--password-file",
        state_->broker.host, state_->broker.port, mosquitto_connack_string(state_->refused)));
  }
  for (const State::Message& message : state_->messages)
    on_payload(message.payload, message.retained);
  state_->messages.clear();
  if (state_->connected == before)
    return;
  if (state_->connected) {
    on_change(state_->was_connected ? "the broker is back" : "connected to the broker");
    state_->was_connected = true;
  } else {
    on_change("the broker is gone; waiting for it");
  }
}

}  // namespace platetally::cli
