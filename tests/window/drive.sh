#!/usr/bin/env bash
# Drives the real window on a virtual display with a software adapter, and checks by the files that
# it writes: start, drag the panel, turn it, drag the sundial, undo all, save, kill during a drag,
# recover, end. Usage: drive.sh BINARY SCENE
set -euo pipefail
binary=$(realpath "$1")
scene=$(realpath "$2")
work=$(mktemp -d)
display=:$((90 + RANDOM % 400))
export XDG_STATE_HOME="$work/state" XDG_RUNTIME_DIR="$work/run"
mkdir -m 700 "$XDG_RUNTIME_DIR"
program=0
# without -noreset it starts anew whenever nobody is connected, and turns away who comes then
Xvfb "$display" -screen 0 1280x720x24 -noreset >"$work/xvfb.txt" 2>&1 &
server=$!
end() {
  if [ "$program" -ne 0 ]; then kill -9 "$program" 2>/dev/null || true; fi
  kill "$server" 2>/dev/null || true
  wait 2>/dev/null || true
  rm -rf "$work"
}
trap end EXIT
fail() {
  echo "window: $*" >&2
  tail -5 "$work/log.txt" >&2 || true
  if [ -n "${KEEP_PICTURE:-}" ]; then import -window root "$KEEP_PICTURE" || true; fi
  exit 1
}
export DISPLAY="$display"
cp "$scene" "$work/crew.ron"
copy="$work/crew.ron.unsaved"

# Waits until a command holds, up to so many seconds.
until_holds() {
  local seconds=$1
  shift
  for _ in $(seq $((seconds * 5))); do
    if "$@"; then return 0; fi
    sleep 0.2
  done
  return 1
}
window_is_there() { xdotool search --onlyvisible --name '^umbrette$' >/dev/null 2>&1; }
frames() { wc -l <"$work/frames.txt" 2>/dev/null || echo 0; }
more_than() { [ "$(frames)" -gt "$1" ]; }
start() {
  rm -f "$work/frames.txt"
  "$binary" "$work/crew.ron" --frame-times "$work/frames.txt" >"$work/log.txt" 2>&1 &
  program=$!
  until_holds 60 window_is_there || fail "no window appeared"
  local id
  id=$(xdotool search --onlyvisible --name '^umbrette$' | tail -1)
  xdotool windowsize "$id" 1280 720 windowmove "$id" 0 0
  # no window manager runs here, so nobody else gives it the keys
  xdotool windowfocus "$id" || true
  until_holds 60 more_than 4 || fail "nothing was drawn"
  still
}
# Waits until no frame was drawn for a second: whatever was asked for is done.
still() {
  local before
  for _ in $(seq 60); do
    before=$(frames)
    sleep 1
    if [ "$(frames)" = "$before" ]; then return 0; fi
  done
  fail "it never came to rest"
}
drag() { # from x y, by dx dy in ten steps, released unless a fifth argument is given
  xdotool mousemove "$1" "$2"
  sleep 0.3
  xdotool mousedown 1
  sleep 0.2
  for _ in $(seq 10); do
    xdotool mousemove_relative -- "$(($3 / 10))" "$(($4 / 10))"
    sleep 0.06
  done
  if [ -z "${5:-}" ]; then
    xdotool mouseup 1
    sleep 0.3
  fi
}
# A key, with modifiers as ctrl+shift+z; each is held long enough for a slow frame to see it.
key() {
  local -a parts
  IFS=+ read -ra parts <<<"$1"
  local i last=$((${#parts[@]} - 1))
  for ((i = 0; i < last; i++)); do xdotool keydown "${parts[i]}"; done
  [ "$last" -gt 0 ] && sleep 0.4
  xdotool key "${parts[last]}"
  sleep 0.4
  for ((i = 0; i < last; i++)); do xdotool keyup "${parts[i]}"; done
  sleep 0.4
}
server_is_up() { xdotool getdisplaygeometry >/dev/null 2>&1; }
differs() { ! cmp -s "$work/crew.ron" "$copy"; }
copy_is_there() { [ -s "$copy" ]; }
copy_is_gone() { [ ! -e "$copy" ]; }

until_holds 20 server_is_up || fail "no virtual display"
start
# where panel and shadow's tip of the rowing crew lie on the fitted plan at 1280 x 720
px=495 py=325 tx=533 ty=438
drag "$px" "$py" 60 20
until_holds 10 copy_is_there || fail "no copy of unsaved work after a drag"
"$binary" check "$copy" >/dev/null || fail "the copy is no valid scene"
still
cp "$copy" "$work/moved.ron"
drag "$tx" "$ty" -10 -40
key bracketright
key t
still
until_holds 10 differs || fail "the copy did not follow"
cmp -s "$copy" "$work/moved.ron" && fail "turning and the time changed nothing"
for _ in $(seq 8); do key ctrl+z; done
until_holds 10 copy_is_gone || fail "undoing everything left something unsaved"
cmp "$work/crew.ron" "$scene" || fail "the file was touched before it was saved"
key ctrl+shift+z
until_holds 10 copy_is_there || fail "redo brought nothing back"
key ctrl+s
saved() { ! cmp -s "$work/crew.ron" "$scene"; }
until_holds 10 saved || fail "nothing was saved"
until_holds 10 copy_is_gone || fail "the copy outlived the save"
"$binary" check "$work/crew.ron" >/dev/null || fail "what was saved is no valid scene"
cp "$work/crew.ron" "$work/saved.ron"

# idle: no frame, hardly any work
still
before=$(frames)
ticks() { awk '{print $14 + $15}' "/proc/$program/stat"; }
t0=$(ticks)
sleep 10
t1=$(ticks)
[ "$(frames)" -le $((before + 1)) ] || fail "idle, it drew $(($(frames) - before)) frames in 10 s"
[ $((t1 - t0)) -le 20 ] || fail "idle, it used $((t1 - t0)) hundredths of a second in 10 s"

# with the rendering of the software adapter in it
awk 'NF > 2 {print $2, $3}' "$work/frames.txt" | sort -n | awk '{v[NR] = $1; f += $2} END {if (NR) printf "from a move to its light, %d times, ms: median %.0f, 90 %% %.0f; frames: mean %.1f\n", NR, v[int((NR + 1) / 2)], v[int(NR * 0.9 + 0.1)], f / NR}'

# killed in the middle of a drag: the copy is there, the file is whole, and it is offered
# (the panel stands where the redone drag left it)
drag "$((px + 60))" "$((py + 20))" 40 0
until_holds 10 copy_is_there || fail "no copy before the kill"
drag "$((px + 100))" "$((py + 20))" 40 30 hold
kill -9 "$program"
wait "$program" 2>/dev/null || true
program=0
xdotool mouseup 1
cmp "$work/crew.ron" "$work/saved.ron" || fail "the kill touched the file"
"$binary" check "$copy" >/dev/null || fail "the copy is broken after the kill"
cp "$copy" "$work/killed.ron"
start
# the question's first word takes the copy, and it has the keys
key space
still
key ctrl+s
took() { [ ! -e "$copy" ] && ! cmp -s "$work/crew.ron" "$work/saved.ron"; }
until_holds 10 took || fail "the copy was not taken and saved"
sort -n "$work/frames.txt" | awk '{v[NR] = $1} END {printf "frames %d, main thread ms: median %.1f, 95 %% %.1f, most %.1f\n", NR, v[int((NR + 1) / 2)], v[int(NR * 0.95)], v[NR]}'

# asked to end with something unsaved it asks back; saved, it ends
alive() { kill -0 "$program" 2>/dev/null; }
ended() { ! alive; }
key t
until_holds 10 copy_is_there || fail "the later time is not kept"
key ctrl+q
still
alive || fail "it ended with something unsaved"
key Escape
still
alive || fail "it ended though it was called back"
key ctrl+s
until_holds 10 copy_is_gone || fail "it was not saved before the end"
key ctrl+q
until_holds 20 ended || fail "it did not end"
wait "$program" || fail "it ended with an error"
program=0
echo "window: all well"
