# What the end-to-end tests stand on. Sourced by each, with the program to test as its argument:
#
#   set -eu
#   . "$(dirname "$0")/lib.sh"
#
# Gives a folder of the test's own ($work), a volume of Tidewrack Mill in it, a service on free
# loopback ports, and ways to ask and to wait, all of them bounded. Whatever the test started is
# ended with it, by process id; its folder goes.
#
# Each check prints "ok: what"; the first that fails prints why, and what the service said.

exec </dev/null
export LC_ALL=C.UTF-8
stationer=$(realpath "${1:?usage: $0 PROGRAM}")
here=$(cd "$(dirname "$0")" && pwd)
project=$(cd "$here/../.." && pwd)
work=$(mktemp -d "${TMPDIR:-/tmp}/stationer-e2e.XXXXXX")
STATIONER_VOLUME=$work/mill
export STATIONER_VOLUME
service=
peers=

clean_up() {
  for pid in $peers $service; do kill -KILL "$pid" 2>/dev/null || true; done
  rm -rf "$work"
}
trap clean_up EXIT
trap 'exit 1' INT TERM HUP

ok() { printf 'ok: %s\n' "$1"; }

fail() {
  {
    echo "FAILED: $1"
    if [ -s "$work/service.log" ]; then
      echo "the service said:"
      tail -n 15 "$work/service.log"
    fi
  } >&2
  exit 1
}

# admin ARGUMENT... : the program under test, on this test's volume.
admin() { "$stationer" "$@"; }

# Runs a command, or admin, for half a minute at most.
bounded() {
  if [ "$1" = admin ]; then
    shift
    set -- "$stationer" "$@"
  fi
  timeout 30 "$@"
}

# says PATTERN COMMAND... : it succeeds, and its output has a line that matches.
says() {
  says_pattern=$1
  shift
  bounded "$@" >"$work/said" 2>&1 || fail "$* ended with $?: $(head -c 600 "$work/said")"
  grep -qE -- "$says_pattern" "$work/said" ||
    fail "$* should have said \"$says_pattern\": $(head -c 600 "$work/said")"
}

# does COMMAND... : it succeeds.
does() {
  bounded "$@" >"$work/said" 2>&1 || fail "$* ended with $?: $(head -c 600 "$work/said")"
}

# refuses STATUS PATTERN COMMAND... : it ends with that status, and gives that reason.
refuses() {
  refuses_status=$1
  refuses_pattern=$2
  shift 2
  refuses_got=0
  bounded "$@" >"$work/said" 2>&1 || refuses_got=$?
  [ $refuses_got -eq "$refuses_status" ] ||
    fail "$* ended with $refuses_got, not $refuses_status: $(head -c 600 "$work/said")"
  grep -qE -- "$refuses_pattern" "$work/said" ||
    fail "$* should have said \"$refuses_pattern\": $(head -c 600 "$work/said")"
}

# becomes_true SECONDS COMMAND... : tries until the command succeeds; fails quietly at the bound.
becomes_true() {
  becomes_left=$(($1 * 10))
  shift
  until "$@" >/dev/null 2>&1; do
    becomes_left=$((becomes_left - 1))
    [ $becomes_left -gt 0 ] || return 1
    sleep 0.1
  done
}

password() { echo "$1-of-the-mill"; }

# make_volume [LINE...] : heron's volume with robin, wren (class evening) and sorrel, who leads it.
# The lines go to the end of its settings.
make_volume() {
  password heron >"$work/word"
  "$stationer" init "$STATIONER_VOLUME" --name "Tidewrack Mill" --manager heron --password-stdin \
    <"$work/word" >"$work/said" 2>&1 || fail "init: $(cat "$work/said")"
  sed -i 's/^address = .*/address = "loopback"/; s/^port = .*/port = 0/' \
    "$STATIONER_VOLUME/volume.toml"
  for line in "$@"; do printf '%s\n' "$line" >>"$STATIONER_VOLUME/volume.toml"; done
  for name in robin wren sorrel; do
    password $name >"$work/word"
    "$stationer" account add $name --password-stdin <"$work/word" >"$work/said" 2>&1 ||
      fail "account add $name: $(cat "$work/said")"
  done
  does admin class add evening
  does admin class join evening robin wren
  does admin account change sorrel --role leader
  does admin class join evening sorrel --leader
}

# Starts the service and sets host, terminal_port, lpd_port and raw_port.
start_service() {
  : >"$work/doors"  # here and now: what the one before said would count as ready
  "$stationer" serve >"$work/doors" 2>"$work/service.log" &
  service=$!
  becomes_true 20 grep -qx ready "$work/doors" || fail "the service was not ready in 20 s"
  host=$(door_part terminal 2)
  terminal_port=$(door_part terminal 3)
  lpd_port=$(door_part lpd 3)
  raw_port=$(door_part raw 3)
  DOOR_HOST=$host DOOR_PORT=$terminal_port
  for name in ROBIN WREN SORREL HERON; do
    eval "PASSWORD_$name=\$(password \$(echo $name | tr A-Z a-z)); export PASSWORD_$name"
  done
  export DOOR_HOST DOOR_PORT
}

door_part() { sed -n "s/^door $1 //p" "$work/doors" | head -n 1 | cut -d' ' -f$(($2 - 1)); }

# Asks the service to end, and makes sure that it does so well.
stop_service() {
  kill -TERM "$service"
  becomes_true 15 is_gone "$service" || fail "the service did not end within 15 s of SIGTERM"
  stop_status=0
  wait "$service" || stop_status=$?
  service=
  [ $stop_status -eq 0 ] || fail "the service ended with status $stop_status"
}

# A child that has ended but was not waited for counts as gone.
is_gone() { ! kill -0 "$1" 2>/dev/null || grep -q '^State:.Z' "/proc/$1/status" 2>/dev/null; }

# remember PID : a peer in the background, to be ended with the test.
remember() { peers="$peers $1"; }

still_serves() {
  is_gone "$service" && fail "the service is gone $1"
  says 'All is well' admin status
}

check_is_clean() {
  says 'nothing is wrong' admin check
  ok "the check of the volume finds nothing wrong"
}

# member_works NAME ADDRESS : signs in from there, and is answered at once.
member_works() {
  timeout 20 expect -f "$here/member.exp" "$1" "$2" >"$work/member" 2>&1 ||
    fail "$1 at $2 could not work: $(tail -n 15 "$work/member")"
}

printouts() { admin printout list --json; }

# printout_of OWNER TITLE : its number, once it is there.
printout_of() {
  becomes_true 15 has_printout "$1" "$2" || fail "no printout \"$2\" of $1 came: $(printouts)"
  printouts | tr '{' '\n' | sed -n "s/^\"job\":\([0-9]*\),\"owner\":\"$1\".*\"title\":\"$2\".*/\1/p" |
    head -n 1
}
has_printout() { printouts | tr '{' '\n' | grep -q "\"owner\":\"$1\".*\"title\":\"$2\""; }
