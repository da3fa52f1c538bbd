#include "server/protocol/jsonrpc.h"

#include <algorithm>
#include <cmath>
#include <exception>
#include <memory>
#include <optional>
#include <stdexcept>
#include <utility>
#include <variant>
#include <vector>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

namespace stationer::server {
namespace {

namespace json = boost::json;

// JSON-RPC 2.0, section 5.1.
constexpr int parse_error = -32700;
constexpr int invalid_request = -32600;
constexpr int method_not_found = -32601;
constexpr int invalid_params = -32602;
constexpr int internal_error = -32603;
constexpr int own_errors = -32000;

json::object error_answer(json::value id, int number, std::string_view message) {
  return {{"jsonrpc", "2.0"},
          {"error", json::object{{"code", number}, {"message", message}}},
          {"id", std::move(id)}};
}

json::object answer(json::value id, fs::Result<json::value> result) {
  if (result) return {{"jsonrpc", "2.0"}, {"result", std::move(*result)}, {"id", std::move(id)}};
  const fs::Error& error = result.error();
  const int number = error.code == fs::Code::bad_input ? invalid_params
                                                       : own_errors - static_cast<int>(error.code);
  json::object out = error_answer(std::move(id), number, error.message);
  out["error"].as_object()["data"] = json::object{{"code", fs::code_name(error.code)}};
  return out;
}

// Numbers beyond a double's become infinity when they are read, which could not be written again.
bool is_finite(const json::value& value) {
  if (const double* number = value.if_double()) return std::isfinite(*number);
  if (const json::array* array = value.if_array()) {
    return std::all_of(array->begin(), array->end(), is_finite);
  }
  if (const json::object* object = value.if_object()) {
    return std::all_of(object->begin(), object->end(),
                       [](const auto& each) { return is_finite(each.value()); });
  }
  return true;
}

std::optional<json::value> parse(std::string_view line) {
  json::parse_options options;
  options.max_depth = Methods::deepest;
  boost::system::error_code error;
  json::value value = json::parse(line, error, {}, options);
  if (error || !is_finite(value)) return {};
  return value;
}

struct Request {
  std::optional<json::value> id;  // none for a notification
  std::string method;
  json::value params;
};

// A request, or the answer to what is none (section 4).
std::variant<Request, json::object> read(json::value& value) {
  json::value id;
  const auto invalid = [&id](std::string_view why) {
    return error_answer(id, invalid_request, why);
  };
  if (!value.is_object()) return invalid("A request has to be a JSON object.");
  json::object& object = value.as_object();
  Request request;
  if (json::value* given = object.if_contains("id")) {
    if (!given->is_string() && !given->is_number() && !given->is_null()) {
      return invalid("The id of a request has to be a string, a number or null.");
    }
    id = *given;
    request.id = std::move(*given);
  }
  const json::value* version = object.if_contains("jsonrpc");
  if (version == nullptr || *version != "2.0") return invalid("jsonrpc has to be \"2.0\".");
  const json::value* method = object.if_contains("method");
  if (method == nullptr || !method->is_string()) {
    return invalid("method has to be the name of a method.");
  }
  request.method = method->as_string();
  if (json::value* params = object.if_contains("params")) {
    if (!params->is_structured()) return invalid("params has to be an object or an array.");
    request.params = std::move(*params);
  }
  return request;
}

// The answers to one line, sent when the last of them has come.
struct Answers {
  void put(json::object one) {
    all.push_back(std::move(one));
    if (all.size() == awaited) send(json::serialize(batch ? json::value(all) : all.front()));
  }

  bool batch;
  std::size_t awaited;
  Methods::Send send;
  json::array all;
};

// A call on its way; lives as long as a copy of its Reply.
struct Call {
  Call(Request what, std::shared_ptr<Answers> to)
      : request(std::move(what)), answers(request.id ? std::move(to) : nullptr) {}
  Call(const Call&) = delete;
  Call& operator=(const Call&) = delete;
  ~Call() {
    try {
      fail(internal_error,
           "The service forgot to answer. That is a fault in it: please report it.");
    } catch (...) {
      // The answer can't be sent either, and a destructor can't say so.
    }
  }

  void reply(fs::Result<json::value> result) {
    if (const auto to = std::exchange(answers, nullptr)) {
      to->put(answer(*request.id, std::move(result)));
    }
  }
  void fail(int number, std::string_view message) {
    if (const auto to = std::exchange(answers, nullptr)) {
      to->put(error_answer(*request.id, number, message));
    }
  }

  Request request;
  std::shared_ptr<Answers> answers;  // none for a notification, nor once answered
};

}  // namespace

void Methods::add(std::string name, Handler handler) {
  if (name.starts_with("rpc."))
    throw std::logic_error("a method name that JSON-RPC keeps: " + name);
  if (!handlers_.emplace(name, std::move(handler)).second) {
    throw std::logic_error("two methods of one name: " + name);
  }
}

void Methods::call(std::string_view line, Send send) const {
  const auto refuse = [&send](int number, std::string_view message) {
    send(json::serialize(error_answer(nullptr, number, message)));
  };
  std::optional<json::value> value = parse(line);
  if (!value)
    return refuse(parse_error,
                  "This line is not JSON, is nested too deeply, or has too large a number.");
  json::array* batch = value->if_array();
  if (batch != nullptr && batch->empty()) return refuse(invalid_request, "This batch is empty.");
  if (batch != nullptr && batch->size() > most_in_batch) {
    return refuse(invalid_request, "A batch holds at most 64 requests: send it in parts.");
  }

  std::vector<std::variant<Request, json::object>> all;
  if (batch == nullptr) {
    all.push_back(read(*value));
  } else {
    for (json::value& one : *batch) all.push_back(read(one));
  }
  auto answers = std::make_shared<Answers>(Answers{batch != nullptr, 0, std::move(send), {}});
  for (const auto& one : all) {
    const auto* request = std::get_if<Request>(&one);
    if (request == nullptr || request->id) ++answers->awaited;
  }
  for (auto& one : all) {
    if (auto* wrong = std::get_if<json::object>(&one)) {
      answers->put(std::move(*wrong));
      continue;
    }
    const auto current = std::make_shared<Call>(std::move(std::get<Request>(one)), answers);
    const auto handler = handlers_.find(current->request.method);
    if (handler == handlers_.end()) {
      current->fail(method_not_found,
                    "There is no method called \"" + current->request.method + "\" here.");
      continue;
    }
    try {
      handler->second(current->request.params, [current](fs::Result<json::value> result) {
        current->reply(std::move(result));
      });
    } catch (const std::exception& error) {
      current->fail(internal_error, std::string("There is a fault in the service: ") +
                                        error.what() + ". Please report it.");
    }
  }
}

std::string Methods::too_long() {
  return json::serialize(
      error_answer(nullptr, invalid_request, "This line is longer than 1 MiB: send it in parts."));
}

std::string jsonrpc_request(std::uint64_t id, std::string_view method, json::value params) {
  json::object request = {{"jsonrpc", "2.0"}, {"method", method}, {"id", id}};
  if (!params.is_null()) request["params"] = std::move(params);
  return json::serialize(request);
}

fs::Result<json::value> jsonrpc_result(std::string_view line, std::uint64_t id) {
  const fs::Error nonsense{fs::Code::io,
                           "The service answered with something that is not an answer. Is it "
                           "another program, or another version?"};
  std::optional<json::value> value = parse(line);
  json::object* object = value ? value->if_object() : nullptr;
  const json::value* answered = object != nullptr ? object->if_contains("id") : nullptr;
  if (answered == nullptr || *answered != id) return nonsense;
  if (json::value* result = object->if_contains("result")) return std::move(*result);
  const json::value* error = object->if_contains("error");
  const json::object* details = error != nullptr ? error->if_object() : nullptr;
  const json::value* message = details != nullptr ? details->if_contains("message") : nullptr;
  if (message == nullptr || !message->is_string()) return nonsense;
  fs::Error out{fs::Code::io, std::string(message->as_string())};
  const json::value* data = details->if_contains("data");
  const json::object* named = data != nullptr ? data->if_object() : nullptr;
  const json::value* name = named != nullptr ? named->if_contains("code") : nullptr;
  if (name != nullptr && name->is_string()) {
    for (int code = 0; code <= static_cast<int>(fs::Code::io); ++code) {
      if (name->as_string() == fs::code_name(static_cast<fs::Code>(code))) {
        out.code = static_cast<fs::Code>(code);
      }
    }
  }
  return out;
}

}  // namespace stationer::server
