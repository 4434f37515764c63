#include "textflag.h"

// Vector twins of the functions in kernels.go. Offsets are in bytes; the frame
// layout (history 26, lead 13, block 32) is that of oversampler.

DATA absMask<>+0(SB)/8, $0x7fffffff7fffffff
DATA absMask<>+8(SB)/8, $0x7fffffff7fffffff
DATA absMask<>+16(SB)/8, $0x7fffffff7fffffff
DATA absMask<>+24(SB)/8, $0x7fffffff7fffffff
GLOBL absMask<>(SB), RODATA|NOPTR, $32

// Loads the 12 coefficients of the first half-band filter into Y4 to Y15.
#define LOADHALF1 \
	VBROADCASTSS ·half1+0(SB), Y4; \
	VBROADCASTSS ·half1+4(SB), Y5; \
	VBROADCASTSS ·half1+8(SB), Y6; \
	VBROADCASTSS ·half1+12(SB), Y7; \
	VBROADCASTSS ·half1+16(SB), Y8; \
	VBROADCASTSS ·half1+20(SB), Y9; \
	VBROADCASTSS ·half1+24(SB), Y10; \
	VBROADCASTSS ·half1+28(SB), Y11; \
	VBROADCASTSS ·half1+32(SB), Y12; \
	VBROADCASTSS ·half1+36(SB), Y13; \
	VBROADCASTSS ·half1+40(SB), Y14; \
	VBROADCASTSS ·half1+44(SB), Y15

// One pair of taps: the samples at byte offsets a and b from x[3] and t, times c.
#define PAIR(a, b, c) \
	VMOVUPS a(SI), Y1; \
	VADDPS  b(SI), Y1, Y1; \
	VMULPS  c, Y1, Y1; \
	VADDPS  Y1, Y0, Y0

// Eight values half way between samples. SI is x[3+t], DI is o[3+t].
#define BETWEEN8 \
	VMOVUPS 44(SI), Y0; \
	VADDPS  48(SI), Y0, Y0; \
	VMULPS  Y4, Y0, Y0; \
	PAIR(40, 52, Y5); \
	PAIR(36, 56, Y6); \
	PAIR(32, 60, Y7); \
	PAIR(28, 64, Y8); \
	PAIR(24, 68, Y9); \
	PAIR(20, 72, Y10); \
	PAIR(16, 76, Y11); \
	PAIR(12, 80, Y12); \
	PAIR(8, 84, Y13); \
	PAIR(4, 88, Y14); \
	PAIR(0, 92, Y15); \
	VMOVUPS Y0, (DI); \
	ADDQ    $32, SI; \
	ADDQ    $32, DI

// Adds the magnitude of v less the constant in Y11 to the sums in Y2 and keeps v's
// peak in Y3; Y15 is the mask. Spoils w.
#define GATHER(v, w) \
	VSUBPS Y11, v, w; \
	VANDPS w, Y15, w; \
	VADDPS w, Y2, Y2; \
	VANDPS v, Y15, v; \
	VMAXPS Y3, v, Y3

// Adds the 32 samples from byte offset 52 of AX, x[13], lane by lane to the plain
// sums behind R10. Spoils Y0.
#define PLAIN32 \
	VMOVUPS 64(R10), Y0; \
	VADDPS  52(AX), Y0, Y0; \
	VADDPS  84(AX), Y0, Y0; \
	VADDPS  116(AX), Y0, Y0; \
	VADDPS  148(AX), Y0, Y0; \
	VMOVUPS Y0, 64(R10)

// Eight times four values. SI is x[12+t], DI is o[1+t], R8 and R9 are q1[t] and
// q2[t]; Y12 to Y14 hold the second half-band filter.
#define QUARTERS8 \
	VMOVUPS (SI), Y4; \
	VMOVUPS 4(SI), Y5; \
	VMOVUPS 8(SI), Y6; \
	VMOVUPS (DI), Y8; \
	VMOVUPS 4(DI), Y9; \
	VMOVUPS 8(DI), Y10; \
	VADDPS  Y9, Y5, Y0; \
	VMULPS  Y12, Y0, Y0; \
	VADDPS  Y6, Y8, Y1; \
	VMULPS  Y13, Y1, Y1; \
	VADDPS  Y1, Y0, Y0; \
	VADDPS  Y10, Y4, Y1; \
	VMULPS  Y14, Y1, Y1; \
	VADDPS  Y1, Y0, Y0; \
	VMOVUPS Y0, (R8); \
	VADDPS  Y6, Y9, Y7; \
	VMULPS  Y12, Y7, Y7; \
	VADDPS  Y10, Y5, Y1; \
	VMULPS  Y13, Y1, Y1; \
	VADDPS  Y1, Y7, Y7; \
	VADDPS  12(SI), Y8, Y1; \
	VMULPS  Y14, Y1, Y1; \
	VADDPS  Y1, Y7, Y7; \
	VMOVUPS Y7, (R9); \
	GATHER(Y5, Y1); \
	GATHER(Y0, Y1); \
	GATHER(Y9, Y1); \
	GATHER(Y7, Y1); \
	ADDQ    $32, SI; \
	ADDQ    $32, DI; \
	ADDQ    $32, R8; \
	ADDQ    $32, R9

// func quadrupleAVX(x *[58]float32, o *[35]float32, q1, q2 *[32]float32, constant float32, l *lanes)
TEXT ·quadrupleAVX(SB), NOSPLIT, $0-48
	MOVQ x+0(FP), AX
	MOVQ o+8(FP), BX
	MOVQ q1+16(FP), R8
	MOVQ q2+24(FP), R9
	MOVQ l+40(FP), R10
	PLAIN32
	LEAQ 12(AX), SI
	LEAQ 12(BX), DI
	LOADHALF1
	BETWEEN8
	BETWEEN8
	BETWEEN8
	BETWEEN8
	LEAQ 48(AX), SI
	LEAQ 4(BX), DI
	VBROADCASTSS constant+32(FP), Y11
	VBROADCASTSS ·half2+0(SB), Y12
	VBROADCASTSS ·half2+4(SB), Y13
	VBROADCASTSS ·half2+8(SB), Y14
	VMOVUPS absMask<>(SB), Y15
	VMOVUPS (R10), Y2
	VMOVUPS 32(R10), Y3
	QUARTERS8
	QUARTERS8
	QUARTERS8
	QUARTERS8
	VMOVUPS Y2, (R10)
	VMOVUPS Y3, 32(R10)
	VZEROUPPER
	RET

// func weighAVX(x, y *float32, n int, filter *[7]float64, rows *[5][2]float64)
//
// X0 is the two samples, X1 the shelf's output, X2 the high-pass's; X5 to X8 hold the
// state, X9 the energy, X10 to X14 and X15 the filter but for b2, which is in DX.
TEXT ·weighAVX(SB), NOSPLIT, $16-40
	MOVQ x+0(FP), AX
	MOVQ y+8(FP), BX
	MOVQ n+16(FP), CX
	MOVQ filter+24(FP), DX
	MOVQ rows+32(FP), R10
	VMOVDDUP 16(DX), X0
	VMOVUPD X0, b2-16(SP)
	VMOVDDUP (DX), X10
	VMOVDDUP 8(DX), X11
	VMOVDDUP 24(DX), X12
	VMOVDDUP 32(DX), X13
	VMOVDDUP 40(DX), X14
	VMOVDDUP 48(DX), X15
	VMOVUPD (R10), X5
	VMOVUPD 16(R10), X6
	VMOVUPD 32(R10), X7
	VMOVUPD 48(R10), X8
	VMOVUPD 64(R10), X9
weigh:
	VMOVSS (AX), X0
	VMOVSS (BX), X1
	VUNPCKLPS X1, X0, X0
	VCVTPS2PD X0, X0
	VMULPD X0, X10, X1
	VADDPD X5, X1, X1
	VMULPD X0, X11, X2
	VADDPD X6, X2, X2
	VMULPD X1, X12, X3
	VSUBPD X3, X2, X5
	VMULPD b2-16(SP), X0, X2
	VMULPD X1, X13, X3
	VSUBPD X3, X2, X6
	VADDPD X7, X1, X2
	VADDPD X1, X1, X3
	VSUBPD X3, X8, X3
	VMULPD X2, X14, X4
	VSUBPD X4, X3, X7
	VMULPD X2, X15, X4
	VSUBPD X4, X1, X8
	VMULPD X2, X2, X4
	VADDPD X4, X9, X9
	ADDQ $4, AX
	ADDQ $4, BX
	DECQ CX
	JNZ  weigh
	VMOVUPD X5, (R10)
	VMOVUPD X6, 16(R10)
	VMOVUPD X7, 32(R10)
	VMOVUPD X8, 48(R10)
	VMOVUPD X9, 64(R10)
	RET
