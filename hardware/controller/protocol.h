/* Made by protocol_h.py from timer/keeper: do not edit. docs/protocol.md is the same in words. */
#pragma once
#include <stdint.h>

#define PROTOCOL 2
#define FIRMWARE_VERSION 2
#define BAUD_RATE 115200UL
#define MAX_FRAME 250
#define MAX_CUES 40
#define CEILING_US 120000000UL
#define SILENCE_US 900000UL
#define LATE_US 20000
#define MAX_FOCUS_US 600000000UL
#define FOCUS_WARN_US 15000000UL
#define SECOND_US 1000000UL
#define NEAR_CUE_US 150000UL
#define FOOT_CLOSED_US 1000
#define FOOT_AGAIN_US 300000UL
#define FOOT_BLANK_US 100000UL
#define FOOT_BOUNCE_US 30000
#define FOOT_HOLD_US 800000UL
#define MAX_LESS_US 1000000UL
#define MAX_RECOVERY_US 30000000UL
#define MIN_REST_US 200000UL

enum {
    MSG_HELLO = 0x01,
    MSG_HEARTBEAT = 0x02,
    MSG_ARM = 0x03,
    MSG_HALT = 0x05,
    MSG_FOCUS_LIGHT = 0x06,
    MSG_SAFELIGHT = 0x07,
    MSG_ASK_RECORD = 0x08,
    MSG_DOSE = 0x09,
    MSG_READ_SENSOR = 0x0A,
    MSG_HELLO_REPLY = 0x81,
    MSG_DONE = 0x82,
    MSG_REFUSAL = 0x83,
    MSG_HEARTBEAT_REPLY = 0x84,
    MSG_LIT = 0x85,
    MSG_DARK = 0x86,
    MSG_CUE_EVENT = 0x87,
    MSG_PEDAL = 0x88,
    MSG_FOCUS_LIGHT_CHANGED = 0x89,
    MSG_EXPOSURE_RECORD = 0x8A,
    MSG_FAULT = 0x8B,
    MSG_SENSOR_READING = 0x8D,
    MSG_DISARMED = 0x8E,
};
enum { STATE_IDLE = 0, STATE_ARMED = 1, STATE_LIT = 2, STATE_FOCUS = 3, STATE_FAULT = 4 };
enum { CUE_TICK = 0, CUE_WARN = 1, CUE_CHANGE = 2, CUE_END = 3 };
enum { WHY_COMPLETE = 0, WHY_HALTED = 1, WHY_PEDAL = 2, WHY_HOST_SILENT = 3, WHY_LINK_CLOSED = 4, WHY_SIGNAL = 5, WHY_FAULT = 6, WHY_KEEPER_LOST = 7, WHY_TIME_UP = 8, WHY_CEILING = 9, WHY_LATE = 10 };
enum { REFUSED_NOT_KNOWN = 1, REFUSED_OVER_CEILING = 2, REFUSED_BUSY = 3, REFUSED_ALREADY_GIVEN = 4, REFUSED_FAULT = 5, REFUSED_BAD_BODY = 6, REFUSED_WRONG_PROTOCOL = 7, REFUSED_TOO_HOT = 8 };
enum { PRESS_DOWN = 1, PRESS_HOLD = 2 };

typedef struct __attribute__((packed)) {
    uint8_t protocol;
} hello_t;
_Static_assert(sizeof(hello_t) == 1, "Hello");

typedef struct __attribute__((packed)) {
    uint64_t exposure;
    uint64_t on_us;
    uint32_t less_us;
    uint32_t recovery_us;
    uint8_t now;
    uint8_t cues;
} arm_t;
_Static_assert(sizeof(arm_t) == 26, "Arm");

typedef struct __attribute__((packed)) {
    uint64_t limit_us;
} focus_light_t;
_Static_assert(sizeof(focus_light_t) == 8, "FocusLight");

typedef struct __attribute__((packed)) {
    uint8_t on;
} safelight_t;
_Static_assert(sizeof(safelight_t) == 1, "Safelight");

typedef struct __attribute__((packed)) {
    uint64_t exposure;
} ask_record_t;
_Static_assert(sizeof(ask_record_t) == 8, "AskRecord");

typedef struct __attribute__((packed)) {
    uint64_t exposure;
    uint32_t target;
    uint64_t on_us;
    uint16_t mains_half_cycle_us;
    uint8_t now;
    uint8_t cues;
} dose_t;
_Static_assert(sizeof(dose_t) == 24, "Dose");

typedef struct __attribute__((packed)) {
    uint8_t protocol;
    uint16_t version;
    uint64_t now_us;
    uint64_t ceiling_us;
    uint32_t speed_permille;
    uint32_t process;
    uint32_t guard;
} hello_reply_t;
_Static_assert(sizeof(hello_reply_t) == 31, "HelloReply");

typedef struct __attribute__((packed)) {
    uint8_t reason;
} refusal_t;
_Static_assert(sizeof(refusal_t) == 1, "Refusal");

typedef struct __attribute__((packed)) {
    uint8_t state;
    uint8_t lamp;
    uint64_t now_us;
    uint16_t events;
} heartbeat_reply_t;
_Static_assert(sizeof(heartbeat_reply_t) == 12, "HeartbeatReply");

typedef struct __attribute__((packed)) {
    uint64_t exposure;
    uint64_t at_us;
    uint64_t ordered_us;
    uint8_t by_pedal;
} lit_t;
_Static_assert(sizeof(lit_t) == 25, "Lit");

typedef struct __attribute__((packed)) {
    uint64_t exposure;
    uint64_t ordered_us;
    uint64_t on_us;
    uint64_t off_us;
    uint8_t why;
    uint32_t counts;
} dark_t;
_Static_assert(sizeof(dark_t) == 37, "Dark");

typedef struct __attribute__((packed)) {
    uint64_t exposure;
    uint64_t at_us;
    uint8_t cue;
} cue_event_t;
_Static_assert(sizeof(cue_event_t) == 17, "CueEvent");

typedef struct __attribute__((packed)) {
    uint8_t press;
    uint64_t at_us;
} pedal_t;
_Static_assert(sizeof(pedal_t) == 9, "Pedal");

typedef struct __attribute__((packed)) {
    uint64_t left_us;
    uint8_t why;
} focus_light_changed_t;
_Static_assert(sizeof(focus_light_changed_t) == 9, "FocusLightChanged");

typedef struct __attribute__((packed)) {
    uint8_t known;
    uint64_t exposure;
    uint64_t ordered_us;
    uint64_t on_us;
    uint64_t off_us;
    uint8_t why;
    uint32_t counts;
} exposure_record_t;
_Static_assert(sizeof(exposure_record_t) == 38, "ExposureRecord");

typedef struct __attribute__((packed)) {
    uint16_t value;
} sensor_reading_t;
_Static_assert(sizeof(sensor_reading_t) == 2, "SensorReading");

typedef struct __attribute__((packed)) {
    uint64_t exposure;
    uint8_t why;
} disarmed_t;
_Static_assert(sizeof(disarmed_t) == 9, "Disarmed");

typedef struct __attribute__((packed)) {
    uint32_t at_us;
    uint8_t cue;
} cue_t;
_Static_assert(sizeof(cue_t) == 5, "Cue");
