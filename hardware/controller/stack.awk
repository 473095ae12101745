# The deepest stack that the firmware can use, from its own machine code:
#
#   avr-objdump -d keeper.elf | awk -v low=0x6b0 -v free=96 -f stack.awk
#
# The longest way down from main, and on top of it the interrupt that goes deepest: they do not nest. Library functions are
# counted too, which gcc's -fstack-usage does not see. Fails if fewer than `free` bytes are left above `low`, the end of
# static memory, and where the depth cannot be told: recursion, calls through pointers.

function number(text,    n, i) {
    text = tolower(text)
    sub(/^0x/, "", text)
    for (i = 1; i <= length(text); i++)
        n = n * 16 + index("0123456789abcdef", substr(text, i, 1)) - 1
    return n
}

function fail(text) {
    print "stack: " text > "/dev/stderr"
    failed = 1
    exit 1
}

# The function that an address is in: the last that starts at or before it.
function at(address,    i) {
    for (i = functions; start[i] > address; i--)
        ;
    return i
}

# Functions by their number; to[i, k] is the k-th address it goes to, cost[i, k] the return address that a call pushes.
function depth(i,    k, below, most, target) {
    if (i in known)
        return known[i]
    if (i in entered)
        fail("recursion at " name[i])
    entered[i] = 1
    for (k = 1; k <= ways[i]; k++) {
        target = at(to[i, k])
        if (target == i && !cost[i, k])
            continue # a jump within it
        below = cost[i, k] + depth(target)
        if (below > most) {
            most = below
            next_of[i] = target
        }
    }
    return known[i] = own[i] + most
}

function way(i,    text) {
    for (text = name[i]; i in next_of; text = text " > " name[i])
        i = next_of[i]
    return text
}

function goes(i, address, pushed) {
    ways[i]++
    to[i, ways[i]] = address
    cost[i, ways[i]] = pushed
}

/^[0-9a-f]+ <.*>:$/ {
    address = number($1)
    if (functions && instruction !~ /^(ret|reti|jmp|rjmp|ijmp)$/) # it runs on into the next, as library functions do
        goes(functions, address, 0)
    start[++functions] = address
    name[functions] = substr($2, 2, length($2) - 3)
    lowering = 0
    next
}
/^ *[0-9a-f]+:\t/ { split($0, field, "\t"); instruction = field[3]; operands = field[4] }
!/^ *[0-9a-f]+:\t/ { next }

instruction == "push" { own[functions]++ }
instruction == "rcall" && operands ~ /^\.\+0/ { own[functions] += 2; next } # room on the stack, not a call
# A frame: the stack pointer is fetched, lowered and put back.
instruction == "in" && operands ~ /^r28, 0x3d/ { lowering = 1 }
instruction == "out" && operands ~ /^0x3d, r28/ { lowering = 0 }
lowering && instruction ~ /^(sbiw|subi)$/ && operands ~ /^r28, / { split(operands, part, ", "); own[functions] += number(part[2]) }
lowering && instruction == "sbci" && operands ~ /^r29, / { split(operands, part, ", "); own[functions] += 256 * number(part[2]) }
instruction ~ /^r?(call|jmp)$/ {
    if (!match($0, /0x[0-9a-f]+ </))
        fail("no target: " $0)
    goes(functions, number(substr($0, RSTART, RLENGTH - 2)), instruction ~ /call/ ? 2 : 0)
}
instruction ~ /^e?icall$/ || (instruction == "ijmp" && name[functions] !~ /^__tablejump/) { fail("a call through a pointer in " name[functions]) }

END {
    if (failed)
        exit 1
    for (i = 1; i <= functions; i++) {
        if (name[i] == "main")
            main = i
        if (name[i] ~ /^__vector_[0-9]+$/ && 2 + depth(i) > interrupt) {
            interrupt = 2 + depth(i)
            deepest = i
        }
    }
    used = 2 + depth(main) + interrupt
    left = 2304 - number(low) - used # 2,048 bytes from 0x100 on
    printf "stack: %d bytes at most (%d main: %s; %d interrupt: %s), %d left\n", used, 2 + depth(main), way(main), interrupt, way(deepest), left
    if (left < free)
        fail("fewer than " free " bytes are left")
}
