# What the scenes stand on: members at terminals, and what the screens show.
#
# A station is a spawn id of expect. What its screen shows is printed with a bar before each line;
# a scene that finds something else than it expects ends with exit status 1 and the reason.
#
# From the environment: DOOR_HOST, DOOR_PORT (the terminal door), BAR and PLAIN (escape sequences
# around what screens show; empty without a terminal).

set timeout 15
log_user 0
match_max 200000
set prompt {(/[^\r\n]*)> $}

proc from_environment {name} {
  return [expr {[info exists ::env($name)] ? $::env($name) : ""}]
}

# A member at a machine with Telnet, with a screen of so many columns. It always comes from 127.0.0.1.
# $spawn_out(slave,name) is its terminal, for stty.
proc telnet_station {{columns 76}} {
  global spawn_out
  spawn -noecho telnet $::env(DOOR_HOST) $::env(DOOR_PORT)
  exec stty rows 24 columns $columns < $spawn_out(slave,name)
  return $spawn_id
}

# A member at a bare keyboard and screen on a line, as through a serial adapter: every key goes out
# as it is typed, Enter is a carriage return. It comes from the given address.
proc plain_station {address} {
  spawn -noecho socat STDIO,raw,echo=0 TCP4:$::env(DOOR_HOST):$::env(DOOR_PORT),bind=$address
  return $spawn_id
}

proc give_up {reason {seen ""}} {
  puts stderr "evening: $reason"
  if {$seen ne ""} {
    puts stderr "evening: the screen showed, at the end:"
    foreach line [lrange [split [clean $seen] "\n"] end-11 end] { puts stderr "  | $line" }
  }
  exit 1
}

proc clean {screen} {
  return [string map [list "\r" "" "\0" "" "\a" ""] $screen]
}

# Waits until the station's screen matches a regular expression; answers what it showed till then.
proc sees {station pattern {while "waiting"}} {
  expect {
    -i $station
    -re $pattern { return $expect_out(buffer) }
    timeout { give_up "$while: \"$pattern\" did not come in $::timeout s" $expect_out(buffer) }
    eof { give_up "$while: the line was closed" $expect_out(buffer) }
  }
}

proc show_line {line} {
  puts "  [from_environment BAR]|[from_environment PLAIN] $line"
}

# Prints what a screen showed; of a long text the first lines only.
proc show_screen {screen {first 100}} {
  set lines [split [string trimright [clean $screen]] "\n"]
  while {[llength $lines] > 0 && [string trim [lindex $lines 0]] eq ""} {
    set lines [lrange $lines 1 end]
  }
  foreach line [lrange $lines 0 [expr {$first - 1}]] { show_line [string trimright $line] }
  set more [expr {[llength $lines] - $first}]
  if {$more > 0} { show_line "... and $more lines more" }
}

proc tell {text} {
  puts ""
  puts $text
}

# From the greeting to the first prompt.
proc sign_in {station name password} {
  sees $station {Press Enter to begin\.} "greeting $name"
  send -i $station "\r"
  set shown [sees $station {Name: } "$name signs in"]
  send -i $station "$name\r"
  append shown [sees $station {Password: } "$name signs in"]
  send -i $station "$password\r"
  append shown [sees $station $::prompt "$name signs in"]
  if {[string first $password $shown] >= 0} {
    give_up "the password of $name could be read on the screen" $shown
  }
  if {![string match "*Welcome, $name.*" $shown]} { give_up "$name was not welcomed" $shown }
  regexp {Name: .*} $shown shown
  regsub $::prompt $shown "" screen
  show_screen $screen
  set ::at($station) [lindex [split [clean $shown] "\n"] end]
}

# Types a command, shows what comes of it, and makes sure that it matches the pattern.
proc type {station command pattern {first 100}} {
  send -i $station "$command\r"
  set shown ""
  expect {
    -i $station
    -re {More\? [^\r\n]*: $} {
      append shown $expect_out(buffer)
      send -i $station "\r"
      exp_continue
    }
    -re $::prompt { append shown $expect_out(buffer) }
    timeout { give_up "\"$command\" had no answer in $::timeout s" $shown$expect_out(buffer) }
    eof { give_up "the line was closed after \"$command\"" $shown }
  }
  set lines [split [clean $shown] "\n"]
  set screen [join [lrange $lines 0 end-1] "\n"]
  regsub -all {More\? [^\n]*\n} $screen "" screen
  show_screen $::at($station)$screen $first
  set ::at($station) [lindex $lines end]
  if {![regexp -- $pattern $screen]} {
    give_up "\"$command\" should have said \"$pattern\"" $screen
  }
}

# Types a text with the write command, line by line.
proc write_text {station name lines} {
  send -i $station "write $name\r"
  set shown [sees $station {ends it\.\r\n} "write $name"]
  foreach line [concat $lines .] { send -i $station "$line\r" }
  append shown [sees $station $::prompt "write $name"]
  set all [split [clean $shown] "\n"]
  show_screen "$::at($station)[join [lrange $all 0 end-1] "\n"]"
  set ::at($station) [lindex $all end]
  if {![string match "*saved in $name.*" $shown]} { give_up "$name was not saved" $shown }
}

proc sign_off {station} {
  send -i $station "bye\r"
  expect {
    -i $station
    eof { set shown $expect_out(buffer) }
    timeout { give_up "the line stayed open after bye" $expect_out(buffer) }
  }
  regsub {Connection closed by foreign host\.\s*} $shown "" shown
  show_screen "$::at($station)$shown"
  if {![string match "*Good-bye.*" $shown]} { give_up "nobody said good-bye" $shown }
  wait -i $station
}
