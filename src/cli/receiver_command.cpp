// rookery receiver add webhook|mqtt|mail NAME … | list | set NAME … | remove NAME | test NAME
#include <fmt/format.h>

#include <boost/json/serialize.hpp>
#include <iostream>

#include "cli/cli.h"
#include "cli/notice_names.h"
#include "notices/json.h"

namespace rookery::cli {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;
using notices::Mail;
using notices::Mqtt;
using notices::Receiver;
using notices::Webhook;

// What was given on the command line; what was not given stays as it is.
struct ReceiverArgs {
  std::string kind, name;
  std::optional<std::string> address, host, security, user, prefix, from, ca_file, rename;
  std::vector<std::string> to;
  std::optional<int> port;
  std::optional<bool> tls, enabled;
  bool secret_stdin = false;
  std::optional<std::string> secret;  // read from standard input
};

void add_way_options(CLI::App& command, ReceiverArgs& args) {
  command.add_option("--address", args.address, "webhook: where to POST to, https://…");
  command.add_option("--host", args.host, "mqtt, mail: the broker or mail server");
  command.add_option("--port", args.port, "… and its port")->check(CLI::Range(1, 65535));
  command.add_option("--tls", args.tls, "mqtt: true or false");
  command.add_option("--prefix", args.prefix, "mqtt: how its topics begin");
  command.add_option("--security", args.security, "mail: starttls, tls or none")
      ->check(CLI::IsMember({"starttls", "tls", "none"}));
  command.add_option("--user", args.user, "mqtt, mail: name for signing in");
  command.add_option("--from", args.from, "mail: the sender's mail address");
  command.add_option("--to", args.to, "mail: who gets it; may stand several times");
  command.add_option("--ca-file", args.ca_file, "Certificates that are believed beside the system's, PEM");
  command.add_flag("--secret-stdin", args.secret_stdin,
                   "Read the webhook's secret, or the password, from standard input");
  command.add_option("--enabled", args.enabled, "false: nothing is sent there");
}

void read_secret(ReceiverArgs& args, std::istream& in) {
  if (!args.secret_stdin) return;
  std::string line;
  std::getline(in, line);
  if (!line.empty() && line.back() == '\r') line.pop_back();
  args.secret = std::move(line);
}

template <class T>
void take(const std::optional<T>& given, T& place) {
  if (given) place = *given;
}

void apply(const ReceiverArgs& args, Webhook& webhook) {
  take(args.address, webhook.address);
  take(args.ca_file, webhook.ca_file);
}

void apply(const ReceiverArgs& args, Mqtt& mqtt) {
  take(args.host, mqtt.host);
  take(args.tls, mqtt.tls);
  if (args.tls && !args.port) mqtt.port = mqtt.tls ? 8883 : 1883;
  if (args.port) mqtt.port = static_cast<std::uint16_t>(*args.port);
  take(args.ca_file, mqtt.ca_file);
  take(args.user, mqtt.user);
  take(args.prefix, mqtt.prefix);
}

void apply(const ReceiverArgs& args, Mail& mail) {
  take(args.host, mail.host);
  if (args.port) mail.port = static_cast<std::uint16_t>(*args.port);
  if (args.security) mail.security = notices::security_of(*args.security).value_or(mail.security);
  take(args.ca_file, mail.ca_file);
  take(args.user, mail.user);
  take(args.from, mail.from);
  if (!args.to.empty()) mail.to = args.to;
}

void apply(const ReceiverArgs& args, Receiver& receiver) {
  take(args.enabled, receiver.enabled);
  take(args.rename, receiver.name);
  std::visit([&args](auto& way) { apply(args, way); }, receiver.way);
  if (args.secret) set_secret(receiver, *args.secret);
}

std::string where_of(const Receiver& receiver) {
  if (const auto* webhook = std::get_if<Webhook>(&receiver.way)) return webhook->address;
  if (const auto* mqtt = std::get_if<Mqtt>(&receiver.way))
    return fmt::format("{}:{} {}/#", mqtt->host, mqtt->port, mqtt->prefix);
  const auto& mail = std::get<Mail>(receiver.way);
  return fmt::format("{} by {}:{}", fmt::join(mail.to, ", "), mail.host, mail.port);
}

void print(Context& context, const Receiver& receiver) {
  context.print(receiver_json(receiver),
                fmt::format("{:<16} {:<7} {:<4} {}", receiver.name, kind_of(receiver),
                            receiver.enabled ? "on" : "off", where_of(receiver)));
}

Result<void> add(const ReceiverArgs& args, Context& context) {
  Receiver receiver;
  receiver.name = args.name;
  if (args.kind == "mqtt") receiver.way = Mqtt();
  if (args.kind == "mail") receiver.way = Mail();
  apply(args, receiver);
  if (auto good = check(receiver); !good) return good;
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto added = notices::NoticeStore(**catalog).add(receiver);
  if (!added) return added.error();
  print(context, *added);
  return base::ok();
}

Result<void> list(Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto receivers = notices::NoticeStore(**catalog).receivers();
  if (!receivers) return receivers.error();
  auto counts = notices::NoticeQueue(**catalog).counts();
  if (!counts) return counts.error();
  for (std::size_t i = 0; i < receivers->size(); ++i) {
    const Receiver& receiver = (*receivers)[i];
    const auto found = std::ranges::find(*counts, receiver.id, &notices::QueueCounts::receiver);
    const notices::QueueCounts of_it = found == counts->end() ? notices::QueueCounts() : *found;
    context.print(
        receiver_json(receiver, of_it, nullptr),
        fmt::format("{:<16} {:<7} {:<4} {}  ({} delivered, {} waiting, {} given up, {} dropped)",
                    receiver.name, kind_of(receiver), receiver.enabled ? "on" : "off", where_of(receiver),
                    of_it.delivered, of_it.waiting, of_it.given_up, of_it.dropped));
  }
  if (receivers->empty() && !context.json)
    context.out << "No receivers yet. `rookery receiver add` adds the first.\n";
  return base::ok();
}

Result<void> set(const ReceiverArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  notices::NoticeStore store(**catalog);
  auto receiver = receiver_named(store, args.name);
  if (!receiver) return receiver.error();
  apply(args, *receiver);
  if (auto done = store.set(*receiver, !args.secret); !done) return done;
  print(context, *receiver);
  return base::ok();
}

Result<void> remove(const ReceiverArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  notices::NoticeStore store(**catalog);
  auto receiver = receiver_named(store, args.name);
  if (!receiver) return receiver.error();
  if (auto removed = store.remove_receiver(receiver->id); !removed) return removed;
  context.print({{"removed", receiver->name}},
                fmt::format("{} was removed, with its notices.", receiver->name));
  return base::ok();
}

// Sends at once and from here: works without a running station, and says what the other side answered.
Result<void> test(const ReceiverArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto receiver = receiver_named(notices::NoticeStore(**catalog), args.name);
  if (!receiver) return receiver.error();
  const base::SystemClock clock;
  notices::Notice notice;
  notice.made = clock.wall();
  notice.event = "null";
  auto sent = make_sender(*receiver, {}, clock)->send(notice, {});
  if (!sent) return sent.error();
  context.print({{"answer", *sent}}, fmt::format("{} has it: {}", receiver->name, *sent));
  return base::ok();
}

}  // namespace

void add_receiver_command(CLI::App& app, Context& context) {
  CLI::App* receiver = app.add_subcommand("receiver", "Where notices go: webhooks, MQTT brokers, mail");
  receiver->require_subcommand(1);
  auto args = std::make_shared<ReceiverArgs>();
  const auto command = [&](const char* name, const char* what, bool named,
                           std::function<Result<void>(const ReceiverArgs&, Context&)> run) {
    CLI::App* made = receiver->add_subcommand(name, what);
    if (named) made->add_option("NAME", args->name, "Its name, for people")->required();
    context.add_common(*made);
    made->callback([args, &context, run = std::move(run)] {
      read_secret(*args, context.in);
      if (auto done = run(*args, context); !done) context.fail(done.error());
    });
    return made;
  };
  CLI::App* adding = receiver->add_subcommand("add", "Add a receiver");
  adding->add_option("KIND", args->kind, "webhook, mqtt or mail")
      ->required()
      ->check(CLI::IsMember({"webhook", "mqtt", "mail"}));
  adding->add_option("NAME", args->name, "Its name, for people")->required();
  add_way_options(*adding, *args);
  context.add_common(*adding);
  adding->callback([args, &context] {
    read_secret(*args, context.in);
    if (auto done = add(*args, context); !done) context.fail(done.error());
  });
  command("list", "The receivers, and how many notices went there", false,
          [](const ReceiverArgs&, Context& with) { return list(with); });
  CLI::App* setting = command("set", "Change a receiver; what is not named stays", true, set);
  setting->add_option("--name", args->rename, "Another name");
  add_way_options(*setting, *args);
  command("remove", "Forget a receiver and its notices", true, remove);
  command("test", "Send a test notice now, and say what the other side answers", true, test);
}

}  // namespace rookery::cli
