// Notices at an MQTT broker. Topics and payloads: docs/notices.md.
#include <fmt/format.h>
#include <mosquitto.h>

#include <cerrno>
#include <condition_variable>
#include <mutex>
#include <new>
#include <optional>
#include <system_error>
#include <thread>
#include <utility>

#include "notices/sender.h"

namespace rookery::notices {
namespace {

using base::Error;
using base::ErrorCode;

constexpr int kAtLeastOnce = 1;  // quality of service: the broker says that it has it
constexpr int kKeepAlive_s = 30;
// Between two tries to connect; a notice that is to be sent does not wait for it.
constexpr std::chrono::seconds kTryAgain{10};
constexpr int kLoop_ms = 100;  // a stop waits no longer

void begin_library() {
  static std::once_flag once;
  std::call_once(once, [] { ::mosquitto_lib_init(); });
}

struct MosquittoDeleter {
  void operator()(mosquitto* client) const { ::mosquitto_destroy(client); }
};

// Holds one connection: a thread of its own makes it, and makes it again. libmosquitto's callbacks tell this
// object what happened. (libmosquitto's own thread gives up where the first try fails.)
class MqttSender final : public Sender {
 public:
  MqttSender(const Receiver& receiver, SenderOptions options)
      : mqtt_(std::get<Mqtt>(receiver.way)),
        where_(fmt::format("MQTT broker {}:{}", mqtt_.host, mqtt_.port)),
        station_topic_(mqtt_.prefix + "/station"),
        options_(std::move(options)) {
    begin_library();
    client_.reset(::mosquitto_new(nullptr, true, this));
    if (!client_) throw std::bad_alloc();
    ::mosquitto_connect_callback_set(client_.get(), &MqttSender::on_connect);
    ::mosquitto_disconnect_callback_set(client_.get(), &MqttSender::on_disconnect);
    ::mosquitto_publish_callback_set(client_.get(), &MqttSender::on_publish);
    ::mosquitto_threaded_set(client_.get(), true);
    fault_ = prepare();
    if (!fault_) thread_ = std::jthread([this](const std::stop_token& stop) { run(stop); });
  }

  ~MqttSender() override {
    if (fault_) return;
    // Going in order is no accident: the last will is not sent then, so it is said here.
    const std::stop_token never;
    (void)publish(station_topic_, "offline", true, never, std::chrono::milliseconds{1'000});
    ::mosquitto_disconnect(client_.get());
    thread_.request_stop();
    thread_.join();
  }

  base::Result<std::string> send(const Notice& notice, const std::stop_token& stop) override {
    if (fault_) return *fault_;
    if (auto there = wait_for_connection(stop); !there) return std::move(there).error();
    if (notice.what == What::test) {
      auto sent = publish(mqtt_.prefix + "/test", body_of(notice), false, stop, options_.answer_within);
      if (!sent) return std::move(sent).error();
      return std::string("the broker has it");
    }
    const std::string base = mqtt_.prefix + "/" + notice.camera;
    Notice without_still = notice;
    without_still.still.clear();
    if (notice.what == What::pause) {
      auto sent = publish(base + "/pause", body_of(without_still), false, stop, options_.answer_within);
      if (!sent) return std::move(sent).error();
      return std::string("the broker has it");
    }
    base::Result<void> sent = base::ok();
    if (notice.motion) {
      sent = publish(base + "/motion", notice.what == What::begun ? "on" : "off", true, stop,
                     options_.answer_within);
    }
    if (sent) sent = publish(base + "/event", body_of(without_still), false, stop, options_.answer_within);
    if (sent && !notice.still.empty())
      sent = publish(base + "/still", notice.still, false, stop, options_.answer_within);
    if (!sent) return std::move(sent).error();
    return std::string("the broker has it");
  }

 private:
  std::optional<Error> prepare() {
    int failed =
        ::mosquitto_will_set(client_.get(), station_topic_.c_str(), 7, "offline", kAtLeastOnce, true);
    if (failed == MOSQ_ERR_SUCCESS && !mqtt_.user.empty())
      failed = ::mosquitto_username_pw_set(client_.get(), mqtt_.user.c_str(), mqtt_.password.c_str());
    if (failed == MOSQ_ERR_SUCCESS && mqtt_.tls) {
      const char* file = mqtt_.ca_file.empty() ? nullptr : mqtt_.ca_file.c_str();
      failed = ::mosquitto_tls_set(client_.get(), file, file == nullptr ? "/etc/ssl/certs" : nullptr, nullptr,
                                   nullptr, nullptr);
    }
    if (failed == MOSQ_ERR_SUCCESS) return std::nullopt;
    return Error(ErrorCode::invalid_value, where_, ::mosquitto_strerror(failed),
                 mqtt_.tls ? "Look whether the CA file is there and can be read." : "Look at its settings.");
  }

  void run(const std::stop_token& stop) {
    int failed = ::mosquitto_connect_async(client_.get(), mqtt_.host.c_str(), mqtt_.port, kKeepAlive_s);
    while (!stop.stop_requested()) {
      if (failed == MOSQ_ERR_SUCCESS) failed = ::mosquitto_loop(client_.get(), kLoop_ms, 1);
      if (failed == MOSQ_ERR_SUCCESS) continue;
      {
        const int number = errno;
        std::unique_lock lock(mutex_);
        if (!was_refused_) why_ = reason_of(failed, number);
        connected_ = false;
        ++tries_ended_;
        changed_.notify_all();
        tried_.wait_for(lock, stop, kTryAgain, [this] { return is_wanted_; });
        is_wanted_ = false;
        was_refused_ = false;
      }
      if (!stop.stop_requested()) failed = ::mosquitto_reconnect_async(client_.get());
    }
  }

  // Why a connection did not come about, or ended. number: errno.
  Error reason_of(int failed, int number) const {
    switch (failed) {
      case MOSQ_ERR_EAI:
        return {ErrorCode::unreachable, where_, "no such host", "Look at how its host is written."};
      case MOSQ_ERR_TLS:
        return {ErrorCode::refused, where_, "no TLS connection came about",
                "Its certificate may not be one that this computer believes (give the receiver a CA file), "
                "or not "
                "be made out to that host, or the broker may not speak TLS at that port."};
      case MOSQ_ERR_ERRNO:
        if (number == ECONNREFUSED || number == EHOSTUNREACH || number == ENETUNREACH) {
          return {ErrorCode::unreachable, where_, std::generic_category().message(number),
                  "Look whether the broker runs, at that host and port."};
        }
        [[fallthrough]];
      default:
        return {ErrorCode::closed, where_, "the broker ended the connection",
                "Look into the broker's own log; it may want TLS at that port, or a user."};
    }
  }

  base::Result<void> wait_for_connection(const std::stop_token& stop) {
    std::unique_lock lock(mutex_);
    const std::uint64_t ended = tries_ended_;
    is_wanted_ = !connected_;
    tried_.notify_all();
    const std::stop_callback wake(stop, [this] { changed_.notify_all(); });
    const bool is_known = changed_.wait_for(lock, options_.connect_within, [&] {
      return connected_ || stop.stop_requested() || tries_ended_ != ended;
    });
    if (connected_) return base::ok();
    if (stop.stop_requested()) return Error(ErrorCode::cancelled, where_, "stopped before it was reached");
    if (is_known && why_) return *why_;
    return Error(ErrorCode::timed_out, where_,
                 fmt::format("no connection within {} s",
                             std::chrono::duration<double>(options_.connect_within).count()),
                 "Look whether a broker runs at that host and port.");
  }

  base::Result<void> publish(const std::string& topic, const std::string& payload, bool retain,
                             const std::stop_token& stop, std::chrono::milliseconds within) {
    std::unique_lock lock(mutex_);
    int number = 0;
    // Under the lock: the broker's word may come before the number is known here.
    const int failed =
        ::mosquitto_publish(client_.get(), &number, topic.c_str(), static_cast<int>(payload.size()),
                            payload.data(), kAtLeastOnce, retain);
    if (failed != MOSQ_ERR_SUCCESS)
      return Error(ErrorCode::closed, where_, ::mosquitto_strerror(failed), "It is tried again.");
    awaited_ = number;
    const std::stop_callback wake(stop, [this] { changed_.notify_all(); });
    changed_.wait_for(lock, within, [&] { return !awaited_ || !connected_ || stop.stop_requested(); });
    if (!std::exchange(awaited_, std::nullopt)) return base::ok();
    if (stop.stop_requested()) return Error(ErrorCode::cancelled, where_, "stopped before it was answered");
    if (!connected_)
      return Error(ErrorCode::closed, where_, "the connection ended before it was confirmed",
                   "It is tried again.");
    return Error(ErrorCode::timed_out, where_, "the broker did not confirm in time", "It is tried again.");
  }

  static void on_connect(mosquitto* client, void* self, int code) {
    auto& sender = *static_cast<MqttSender*>(self);
    {
      const std::lock_guard lock(sender.mutex_);
      sender.connected_ = code == 0;
      sender.was_refused_ = code != 0;
      const bool is_sign_in = code == 4 || code == 5;  // MQTT 3.1.1, section 3.2.2.3
      if (code != 0) {
        sender.why_ = Error(is_sign_in ? ErrorCode::no_permission : ErrorCode::refused, sender.where_,
                            ::mosquitto_connack_string(code),
                            is_sign_in ? "Set user and password again." : "Look into the broker's own log.");
      }
    }
    sender.changed_.notify_all();
    if (code == 0) {
      (void)::mosquitto_publish(client, nullptr, sender.station_topic_.c_str(), 6, "online", kAtLeastOnce,
                                true);
    }
  }
  static void on_disconnect(mosquitto*, void* self, int) {
    auto& sender = *static_cast<MqttSender*>(self);
    {
      const std::lock_guard lock(sender.mutex_);
      sender.connected_ = false;
    }
    sender.changed_.notify_all();
  }
  static void on_publish(mosquitto*, void* self, int number) {
    auto& sender = *static_cast<MqttSender*>(self);
    {
      const std::lock_guard lock(sender.mutex_);
      if (sender.awaited_ == number) sender.awaited_.reset();
    }
    sender.changed_.notify_all();
  }

  const Mqtt mqtt_;
  const std::string where_;
  const std::string station_topic_;
  const SenderOptions options_;
  std::unique_ptr<mosquitto, MosquittoDeleter> client_;
  std::optional<Error> fault_;

  std::mutex mutex_;
  std::condition_variable changed_;    // what the callbacks told
  std::condition_variable_any tried_;  // a connection is wanted now
  bool is_wanted_ = false;
  bool connected_ = false;
  bool was_refused_ = false;       // by the broker itself, in this try: why_ is its word
  std::optional<Error> why_;       // the last try to connect failed, or the last connection ended
  std::uint64_t tries_ended_ = 0;  // connections that did not come about, or ended
  std::optional<int> awaited_;     // number of the message that the broker has not confirmed yet
  std::jthread thread_;            // the last: it uses all of the above
};

}  // namespace

std::unique_ptr<Sender> make_mqtt_sender(const Receiver& receiver, const SenderOptions& options) {
  return std::make_unique<MqttSender>(receiver, options);
}

}  // namespace rookery::notices
