// rookery token new|list|revoke
#include <fmt/format.h>

#include "archive/people_store.h"
#include "cli/cli.h"

namespace rookery::cli {
namespace {

struct TokenArgs {
  std::string camera;
  std::string label;
  bool push = false;
  bool report = false;
  std::int64_t id = 0;
};

archive::TokenUse use_of(const TokenArgs& args) {
  if (args.push) return archive::TokenUse::push;
  return args.report ? archive::TokenUse::report : archive::TokenUse::watch;
}

// What it does, in a list.
std::string_view word_for(archive::TokenUse use) {
  switch (use) {
    case archive::TokenUse::watch:
      return "watches";
    case archive::TokenUse::push:
      return "pushes";
    case archive::TokenUse::report:
      return "reports";
  }
  return "";
}

base::WallTime now() { return base::SystemClock().wall(); }

base::Result<void> new_token(const TokenArgs& args, Context& context) {
  auto camera = base::CameraName::parse(args.camera);
  if (!camera) return camera.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto token = archive::PeopleStore(**catalog).new_token(*camera, args.label, use_of(args), now());
  if (!token) return token.error();
  // The token alone, so that a script can take it as it is.
  context.print({{"camera", camera->text()}, {"id", token->id}, {"token", token->secret}}, token->secret);
  return base::ok();
}

base::Result<void> list_tokens(const TokenArgs& args, Context& context) {
  auto camera = base::CameraName::parse(args.camera);
  if (!camera) return camera.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto tokens = archive::PeopleStore(**catalog).list_tokens(*camera);
  if (!tokens) return tokens.error();
  for (const auto& token : *tokens) {
    boost::json::object object{{"id", token.id},
                               {"label", token.label},
                               {"use", archive::name_of(token.use)},
                               {"made_at", base::to_rfc3339(token.made)}};
    object["last_used_at"] = nullptr;
    if (token.last_used) object["last_used_at"] = base::to_rfc3339(*token.last_used);
    context.print(object,
                  fmt::format("{:>4}  {}  {:<8} last used {:<24}  {}", token.id, base::to_rfc3339(token.made),
                              word_for(token.use),
                              token.last_used ? base::to_rfc3339(*token.last_used) : "never", token.label));
  }
  return base::ok();
}

base::Result<void> revoke_token(const TokenArgs& args, Context& context) {
  auto camera = base::CameraName::parse(args.camera);
  if (!camera) return camera.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  if (auto revoked = archive::PeopleStore(**catalog).revoke_token(*camera, args.id); !revoked) return revoked;
  context.print({{"revoked", args.id}},
                fmt::format("Token {} of {} opens nothing any more.", args.id, camera->text()));
  return base::ok();
}

}  // namespace

void add_token_command(CLI::App& app, Context& context) {
  CLI::App* token = app.add_subcommand("token", "Access for programs that cannot sign in: one camera each");
  token->require_subcommand(1);
  auto args = std::make_shared<TokenArgs>();

  CLI::App* make = token->add_subcommand("new", "Make a token and print it, this once");
  make->add_option("CAMERA", args->camera, "The camera that it opens")->required();
  make->add_option("--label", args->label, "What it is for, to know it again");
  CLI::Option* push = make->add_flag(
      "--push", args->push, "For a board that sends stills to the station; it does not let anyone watch");
  make->add_flag(
          "--report", args->report,
          "For a machine's software that tells of its jobs (docs/jobs.md); it does not let anyone watch")
      ->excludes(push);
  context.add_common(*make);
  make->callback([args, &context] {
    if (auto done = new_token(*args, context); !done) context.fail(done.error());
  });

  CLI::App* list = token->add_subcommand("list", "A camera's tokens, without the tokens themselves");
  list->add_option("CAMERA", args->camera, "The camera")->required();
  context.add_common(*list);
  list->callback([args, &context] {
    if (auto done = list_tokens(*args, context); !done) context.fail(done.error());
  });

  CLI::App* revoke = token->add_subcommand("revoke", "Make a token useless; streams that it opened end");
  revoke->add_option("CAMERA", args->camera, "The camera")->required();
  revoke->add_option("ID", args->id, "The number that `token list` shows")->required();
  context.add_common(*revoke);
  revoke->callback([args, &context] {
    if (auto done = revoke_token(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
