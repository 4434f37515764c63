#include "textflag.h"

// The loops of kernels_go.go, four samples at a time. Products and sums are
// rounded one by one and in the same order, so the results are the same.

// func mix4(dst, src *float32, n int, gain float32)
TEXT ·mix4(SB), NOSPLIT, $0-28
	MOVQ   dst+0(FP), DI
	MOVQ   src+8(FP), SI
	MOVQ   n+16(FP), CX
	MOVSS  gain+24(FP), X0
	SHUFPS $0, X0, X0

loop:
	CMPQ   CX, $8
	JLT    done
	MOVUPS (SI), X1
	MOVUPS 16(SI), X2
	MULPS  X0, X1
	MULPS  X0, X2
	MOVUPS (DI), X3
	MOVUPS 16(DI), X4
	ADDPS  X1, X3
	ADDPS  X2, X4
	MOVUPS X3, (DI)
	MOVUPS X4, 16(DI)
	ADDQ   $32, SI
	ADDQ   $32, DI
	SUBQ   $8, CX
	JMP    loop

done:
	RET

// func scale4(x *float32, n int, gain float32)
TEXT ·scale4(SB), NOSPLIT, $0-20
	MOVQ   x+0(FP), DI
	MOVQ   n+8(FP), CX
	MOVSS  gain+16(FP), X0
	SHUFPS $0, X0, X0

loop:
	CMPQ   CX, $8
	JLT    done
	MOVUPS (DI), X1
	MOVUPS 16(DI), X2
	MULPS  X0, X1
	MULPS  X0, X2
	MOVUPS X1, (DI)
	MOVUPS X2, 16(DI)
	ADDQ   $32, DI
	SUBQ   $8, CX
	JMP    loop

done:
	RET

// func magnitudes4(x *float32, n int, sums, tops *[4]float32)
TEXT ·magnitudes4(SB), NOSPLIT, $0-32
	MOVQ    x+0(FP), SI
	MOVQ    n+8(FP), CX
	MOVQ    sums+16(FP), R8
	MOVQ    tops+24(FP), R9
	PCMPEQL X0, X0
	PSRLL   $1, X0
	XORPS   X1, X1
	XORPS   X2, X2

loop:
	CMPQ   CX, $4
	JLT    done
	MOVUPS (SI), X3
	ANDPS  X0, X3
	ADDPS  X3, X1
	MAXPS  X3, X2
	ADDQ   $16, SI
	SUBQ   $4, CX
	JMP    loop

done:
	MOVUPS X1, (R8)
	MOVUPS X2, (R9)
	RET

// func travel4(to, from *float32, n int, c *[3]float32)
TEXT ·travel4(SB), NOSPLIT, $0-32
	MOVQ   to+0(FP), DI
	MOVQ   from+8(FP), SI
	MOVQ   n+16(FP), CX
	MOVQ   c+24(FP), R8
	MOVSS  (R8), X0
	SHUFPS $0, X0, X0
	MOVSS  4(R8), X1
	SHUFPS $0, X1, X1
	MOVSS  8(R8), X2
	SHUFPS $0, X2, X2

loop:
	CMPQ   CX, $4
	JLT    done
	MOVUPS 8(SI), X3
	MOVUPS 4(SI), X4
	MOVUPS (SI), X5
	MULPS  X0, X3
	MULPS  X1, X4
	MULPS  X2, X5
	ADDPS  X4, X3
	ADDPS  X5, X3
	MOVUPS X3, (DI)
	ADDQ   $16, SI
	ADDQ   $16, DI
	SUBQ   $4, CX
	JMP    loop

done:
	RET

// func dot4(a, b *float32, n int, sums *[8]float32)
TEXT ·dot4(SB), NOSPLIT, $0-32
	MOVQ  a+0(FP), DI
	MOVQ  b+8(FP), SI
	MOVQ  n+16(FP), CX
	MOVQ  sums+24(FP), R8
	XORPS X0, X0
	XORPS X1, X1

loop:
	CMPQ   CX, $8
	JLT    done
	MOVUPS (DI), X2
	MOVUPS 16(DI), X3
	MOVUPS (SI), X4
	MOVUPS 16(SI), X5
	MULPS  X4, X2
	MULPS  X5, X3
	ADDPS  X2, X0
	ADDPS  X3, X1
	ADDQ   $32, DI
	ADDQ   $32, SI
	SUBQ   $8, CX
	JMP    loop

done:
	MOVUPS X0, (R8)
	MOVUPS X1, 16(R8)
	RET
