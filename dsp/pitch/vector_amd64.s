#include "textflag.h"

// The numbers of turnOf.
DATA ·turnNumbers+0(SB)/8, $1.0
DATA ·turnNumbers+8(SB)/8, $0.3333314528
DATA ·turnNumbers+16(SB)/8, $0.1999355085
DATA ·turnNumbers+24(SB)/8, $0.1420889944
DATA ·turnNumbers+32(SB)/8, $0.1065626393
DATA ·turnNumbers+40(SB)/8, $0.07528964
DATA ·turnNumbers+48(SB)/8, $0.0429096138
DATA ·turnNumbers+56(SB)/8, $0.0161657367
DATA ·turnNumbers+64(SB)/8, $0.0028662257
DATA ·turnNumbers+72(SB)/8, $0x3fc45f306dc9c883
DATA ·turnNumbers+80(SB)/8, $0.125
DATA ·turnNumbers+88(SB)/8, $0.25
DATA ·turnNumbers+96(SB)/8, $0x0000000000000001
DATA ·turnNumbers+104(SB)/8, $0x8000000000000000
GLOBL ·turnNumbers(SB), RODATA|NOPTR, $112

// func turns4(out, aPlusRe, aPlusIm, aMinusRe, aMinusIm, bPlusRe, bPlusIm, bMinusRe, bMinusIm *float64, n int)
TEXT ·turns4(SB), NOSPLIT, $0-80
	MOVQ out+0(FP), DI
	MOVQ aPlusRe+8(FP), R8
	MOVQ aPlusIm+16(FP), R9
	MOVQ aMinusRe+24(FP), R10
	MOVQ aMinusIm+32(FP), R11
	MOVQ bPlusRe+40(FP), R12
	MOVQ bPlusIm+48(FP), R13
	MOVQ bMinusRe+56(FP), DX
	MOVQ bMinusIm+64(FP), BX
	MOVQ n+72(FP), CX
	XORQ AX, AX
	VBROADCASTSD ·turnNumbers+104(SB), Y15
	VBROADCASTSD ·turnNumbers+96(SB), Y14
	VBROADCASTSD ·turnNumbers+0(SB), Y13

turns:
	VMOVUPD (R8)(AX*8), Y0
	VMOVUPD (R9)(AX*8), Y1
	VMOVUPD (R10)(AX*8), Y2
	VMOVUPD (R11)(AX*8), Y3
	VMOVUPD (R12)(AX*8), Y4
	VMOVUPD (R13)(AX*8), Y5
	VMOVUPD (DX)(AX*8), Y6
	VMOVUPD (BX)(AX*8), Y7
	VMULPD  Y4, Y0, Y8    // re
	VMULPD  Y5, Y1, Y9
	VADDPD  Y9, Y8, Y8
	VMULPD  Y6, Y2, Y9
	VADDPD  Y9, Y8, Y8
	VMULPD  Y7, Y3, Y9
	VADDPD  Y9, Y8, Y8
	VMULPD  Y4, Y1, Y9    // im
	VMULPD  Y5, Y0, Y10
	VSUBPD  Y10, Y9, Y9
	VMULPD  Y6, Y3, Y10
	VADDPD  Y10, Y9, Y9
	VMULPD  Y7, Y2, Y10
	VSUBPD  Y10, Y9, Y9

	VANDNPD Y8, Y15, Y0   // x
	VANDNPD Y9, Y15, Y1   // y
	VMAXPD  Y1, Y0, Y2
	VMAXPD  Y14, Y2, Y2
	VMINPD  Y1, Y0, Y3
	VDIVPD  Y2, Y3, Y3    // t
	VMULPD  Y3, Y3, Y4    // s
	VMULPD  Y4, Y4, Y5    // its square
	VMULPD  Y5, Y5, Y6    // and the square of that

	VBROADCASTSD ·turnNumbers+8(SB), Y7
	VMULPD  Y4, Y7, Y7
	VSUBPD  Y7, Y13, Y7
	VBROADCASTSD ·turnNumbers+24(SB), Y10
	VMULPD  Y4, Y10, Y10
	VBROADCASTSD ·turnNumbers+16(SB), Y11
	VSUBPD  Y10, Y11, Y10
	VMULPD  Y5, Y10, Y10
	VADDPD  Y10, Y7, Y7   // low
	VBROADCASTSD ·turnNumbers+40(SB), Y10
	VMULPD  Y4, Y10, Y10
	VBROADCASTSD ·turnNumbers+32(SB), Y11
	VSUBPD  Y10, Y11, Y10
	VBROADCASTSD ·turnNumbers+56(SB), Y11
	VMULPD  Y4, Y11, Y11
	VBROADCASTSD ·turnNumbers+48(SB), Y12
	VSUBPD  Y11, Y12, Y11
	VMULPD  Y5, Y11, Y11
	VADDPD  Y11, Y10, Y10
	VBROADCASTSD ·turnNumbers+64(SB), Y11
	VMULPD  Y6, Y11, Y11
	VADDPD  Y11, Y10, Y10 // top
	VMULPD  Y6, Y10, Y10
	VADDPD  Y10, Y7, Y7
	VMULPD  Y3, Y7, Y7
	VBROADCASTSD ·turnNumbers+72(SB), Y11
	VMULPD  Y11, Y7, Y7   // a

	VBROADCASTSD ·turnNumbers+80(SB), Y11
	VSUBPD  Y7, Y11, Y10
	VANDNPD Y10, Y15, Y10
	VSUBPD  Y0, Y1, Y12
	VANDPD  Y15, Y12, Y12
	VORPD   Y12, Y10, Y10
	VADDPD  Y10, Y11, Y7
	VBROADCASTSD ·turnNumbers+88(SB), Y11
	VSUBPD  Y7, Y11, Y10
	VANDNPD Y10, Y15, Y10
	VANDPD  Y15, Y8, Y12
	VORPD   Y12, Y10, Y10
	VSUBPD  Y10, Y11, Y7
	VANDNPD Y7, Y15, Y7
	VANDPD  Y15, Y9, Y12
	VORPD   Y12, Y7, Y7
	VMOVUPD Y7, (DI)(AX*8)
	ADDQ    $4, AX
	CMPQ    AX, CX
	JLT     turns
	VZEROUPPER
	RET

// What leaps and turned need besides.
DATA ·steps+0(SB)/4, $0
DATA ·steps+4(SB)/4, $1
DATA ·steps+8(SB)/4, $2
DATA ·steps+12(SB)/4, $3
GLOBL ·steps(SB), RODATA|NOPTR, $16
DATA ·half+0(SB)/8, $0.5
GLOBL ·half(SB), RODATA|NOPTR, $8

// WRAP takes the nearest whole number from x; half is in Y15.
#define WRAP(x, t) \
	VADDPD   Y15, x, t \
	VROUNDPD $9, t, t  \
	VSUBPD   t, x, x

// func leaps4(phases *float64, more, scale float64, hop, longer, mask, n int)
TEXT ·leaps4(SB), NOSPLIT, $0-56
	MOVQ         phases+0(FP), DI
	VBROADCASTSD more+8(FP), Y14
	VBROADCASTSD scale+16(FP), Y13
	VBROADCASTSD ·half(SB), Y15
	VPBROADCASTD hop+24(FP), X10
	VPBROADCASTD longer+32(FP), X11
	VPBROADCASTD mask+40(FP), X12
	MOVQ         n+48(FP), CX
	VMOVDQU      ·steps(SB), X0
	VPMULLD      X0, X10, X8 // k·hop
	VPMULLD      X0, X11, X9 // k·longer
	VPSLLD       $2, X10, X10
	VPSLLD       $2, X11, X11

leap:
	VPAND     X12, X8, X0
	VPAND     X12, X9, X1
	VCVTDQ2PD X0, Y0
	VCVTDQ2PD X1, Y1
	VMULPD    Y13, Y0, Y0
	VMULPD    Y13, Y1, Y1
	VMOVUPD   (DI), Y2
	VSUBPD    Y0, Y2, Y2
	WRAP(Y2, Y3)
	VMULPD    Y14, Y2, Y2
	VADDPD    Y2, Y1, Y1
	VMOVUPD   Y1, (DI)
	VPADDD    X10, X8, X8
	VPADDD    X11, X9, X9
	ADDQ      $32, DI
	SUBQ      $4, CX
	JG        leap
	VZEROUPPER
	RET

// func rises4(phases *float64, more float64, n int)
TEXT ·rises4(SB), NOSPLIT, $0-24
	MOVQ         phases+0(FP), DI
	VBROADCASTSD more+8(FP), Y14
	VBROADCASTSD ·half(SB), Y15
	MOVQ         n+16(FP), CX

rise:
	VADDPD  (DI), Y15, Y0
	WRAP(Y0, Y1)
	VMULPD  Y14, Y0, Y0
	VMOVUPD Y0, (DI)
	ADDQ    $32, DI
	SUBQ    $4, CX
	JG      rise
	VZEROUPPER
	RET

// The numbers of bucketOf.
DATA ·bucketNumbers+0(SB)/4, $7384 // (1023 − 100)·8
DATA ·bucketNumbers+4(SB)/4, $2047
GLOBL ·bucketNumbers(SB), RODATA|NOPTR, $8

// func take4(plusRe, plusIm, minusRe, minusIm *float64, level *int32, re, im, mirrorRe, mirrorIm *float64, n int) (loudest int32)
//
// The mirrored numbers are read backwards.
TEXT ·take4(SB), NOSPLIT, $0-84
	MOVQ  plusRe+0(FP), R8
	MOVQ  plusIm+8(FP), R9
	MOVQ  minusRe+16(FP), R10
	MOVQ  minusIm+24(FP), R11
	MOVQ  level+32(FP), DI
	MOVQ  re+40(FP), R12
	MOVQ  im+48(FP), R13
	MOVQ  mirrorRe+56(FP), DX
	MOVQ  mirrorIm+64(FP), BX
	MOVQ  n+72(FP), CX
	XORQ  AX, AX
	VBROADCASTSD ·turnNumbers+104(SB), Y15
	VPBROADCASTD ·bucketNumbers+0(SB), X14
	VPBROADCASTD ·bucketNumbers+4(SB), X13
	VPXOR X12, X12, X12
	VPXOR X11, X11, X11 // the loudest

take:
	VMOVUPD (R12)(AX*8), Y0
	VMOVUPD (R13)(AX*8), Y1
	VPERMPD $0x1B, (DX), Y2
	VPERMPD $0x1B, (BX), Y3
	VMOVUPD Y0, (R8)(AX*8)
	VMOVUPD Y1, (R9)(AX*8)
	VMOVUPD Y2, (R10)(AX*8)
	VXORPD  Y15, Y3, Y4
	VMOVUPD Y4, (R11)(AX*8)
	VMULPD  Y0, Y0, Y0
	VMULPD  Y1, Y1, Y1
	VMULPD  Y2, Y2, Y2
	VMULPD  Y3, Y3, Y3
	VADDPD  Y1, Y0, Y0
	VADDPD  Y2, Y0, Y0
	VADDPD  Y3, Y0, Y0
	VPSRLQ  $49, Y0, Y0
	VEXTRACTI128 $1, Y0, X1
	VSHUFPS $0x88, X1, X0, X0
	VPSUBD  X14, X0, X0
	VPMAXSD X12, X0, X0
	VPMINSD X13, X0, X0
	VPMAXSD X0, X11, X11
	VMOVDQU X0, (DI)(AX*4)
	SUBQ    $32, DX
	SUBQ    $32, BX
	ADDQ    $4, AX
	CMPQ    AX, CX
	JLT     take
	VPSHUFD $0x4E, X11, X0
	VPMAXSD X0, X11, X11
	VPSHUFD $0xB1, X11, X0
	VPMAXSD X0, X11, X11
	MOVL    X11, AX
	MOVL    AX, loudest+80(FP)
	VZEROUPPER
	RET

// The numbers of sincosOf, those of the sine first.
DATA ·sineNumbers+0(SB)/8, $3.14159265358979323846
DATA ·sineNumbers+8(SB)/8, $-0.0000000239
DATA ·sineNumbers+16(SB)/8, $0.0000027526
DATA ·sineNumbers+24(SB)/8, $-0.0001984090
DATA ·sineNumbers+32(SB)/8, $0.0083333315
DATA ·sineNumbers+40(SB)/8, $-0.1666666664
DATA ·sineNumbers+48(SB)/8, $1.0
DATA ·sineNumbers+56(SB)/8, $-0.0000002605
DATA ·sineNumbers+64(SB)/8, $0.0000247609
DATA ·sineNumbers+72(SB)/8, $-0.0013888397
DATA ·sineNumbers+80(SB)/8, $0.0416666418
DATA ·sineNumbers+88(SB)/8, $-0.4999999963
GLOBL ·sineNumbers(SB), RODATA|NOPTR, $96

// STEP is one of Horner's: y·s + a number.
#define STEP(at, s, y) \
	VBROADCASTSD ·sineNumbers+at(SB), Y14 \
	VMULPD       s, y, y                  \
	VADDPD       Y14, y, y

// func turned4(re, im, mirrorRe, mirrorIm, turns, plusRe, plusIm, minusRe, minusIm *float64, n int)
//
// The mirrored numbers are written backwards.
TEXT ·turned4(SB), NOSPLIT, $0-80
	MOVQ  re+0(FP), R8
	MOVQ  im+8(FP), R9
	MOVQ  mirrorRe+16(FP), R10
	MOVQ  mirrorIm+24(FP), R11
	MOVQ  turns+32(FP), DI
	MOVQ  plusRe+40(FP), R12
	MOVQ  plusIm+48(FP), R13
	MOVQ  minusRe+56(FP), DX
	MOVQ  minusIm+64(FP), BX
	MOVQ  n+72(FP), CX
	XORQ  AX, AX
	VBROADCASTSD ·half(SB), Y15
	VBROADCASTSD ·sineNumbers+0(SB), Y13
	VBROADCASTSD ·turnNumbers+104(SB), Y12

turned:
	VMOVUPD (DI)(AX*8), Y0
	WRAP(Y0, Y1)
	VMOVUPD Y0, (DI)(AX*8)
	VMULPD  Y13, Y0, Y0 // x
	VMULPD  Y0, Y0, Y1  // s
	VBROADCASTSD ·sineNumbers+8(SB), Y2
	VBROADCASTSD ·sineNumbers+56(SB), Y3
	STEP(16, Y1, Y2)
	STEP(64, Y1, Y3)
	STEP(24, Y1, Y2)
	STEP(72, Y1, Y3)
	STEP(32, Y1, Y2)
	STEP(80, Y1, Y3)
	STEP(40, Y1, Y2)
	STEP(88, Y1, Y3)
	STEP(48, Y1, Y2)
	STEP(48, Y1, Y3)    // the cosine of half the phase
	VMULPD  Y0, Y2, Y2  // the sine
	VADDPD  Y2, Y2, Y4
	VMULPD  Y3, Y4, Y4  // sin
	VMULPD  Y3, Y3, Y5
	VMULPD  Y2, Y2, Y6
	VSUBPD  Y6, Y5, Y5  // cos
	VMOVUPD (R12)(AX*8), Y0
	VMOVUPD (R13)(AX*8), Y1
	VMOVUPD (DX)(AX*8), Y2
	VMOVUPD (BX)(AX*8), Y3
	VMULPD  Y5, Y0, Y6
	VMULPD  Y4, Y1, Y7
	VSUBPD  Y7, Y6, Y6
	VMOVUPD Y6, (R8)(AX*8)
	VMULPD  Y4, Y0, Y6
	VMULPD  Y5, Y1, Y7
	VADDPD  Y7, Y6, Y6
	VMOVUPD Y6, (R9)(AX*8)
	VMULPD  Y5, Y2, Y6
	VMULPD  Y4, Y3, Y7
	VSUBPD  Y7, Y6, Y6
	VPERMPD $0x1B, Y6, Y6
	VMOVUPD Y6, (R10)
	VMULPD  Y4, Y2, Y6
	VMULPD  Y5, Y3, Y7
	VADDPD  Y7, Y6, Y6
	VXORPD  Y12, Y6, Y6
	VPERMPD $0x1B, Y6, Y6
	VMOVUPD Y6, (R11)
	SUBQ    $32, R10
	SUBQ    $32, R11
	ADDQ    $4, AX
	CMPQ    AX, CX
	JLT     turned
	VZEROUPPER
	RET

// func seen4(l, r, window *float64, x *dsp.Frame, n int)
TEXT ·seen4(SB), NOSPLIT, $0-40
	MOVQ l+0(FP), DI
	MOVQ r+8(FP), R8
	MOVQ window+16(FP), R9
	MOVQ x+24(FP), R10
	MOVQ n+32(FP), CX
	XORQ AX, AX

seen:
	VMOVUPD   (R10), Y0     // l0 r0 l1 r1
	VMOVUPD   32(R10), Y1   // l2 r2 l3 r3
	VMOVUPD   (R9)(AX*8), Y4
	VUNPCKLPD Y1, Y0, Y2    // l0 l2 l1 l3
	VUNPCKHPD Y1, Y0, Y3
	VPERMPD   $0xD8, Y2, Y2
	VPERMPD   $0xD8, Y3, Y3
	VMULPD    Y4, Y2, Y2
	VMULPD    Y4, Y3, Y3
	VMOVUPD   Y2, (DI)(AX*8)
	VMOVUPD   Y3, (R8)(AX*8)
	ADDQ      $64, R10
	ADDQ      $4, AX
	CMPQ      AX, CX
	JLT       seen
	VZEROUPPER
	RET

// func overlapped4(out *dsp.Frame, window *float64, scale float64, l, r *float64, n int)
TEXT ·overlapped4(SB), NOSPLIT, $0-48
	MOVQ         out+0(FP), DI
	MOVQ         window+8(FP), R8
	VBROADCASTSD scale+16(FP), Y15
	MOVQ         l+24(FP), R9
	MOVQ         r+32(FP), R10
	MOVQ         n+40(FP), CX
	XORQ         AX, AX

overlap:
	VMULPD    (R8)(AX*8), Y15, Y4
	VMULPD    (R9)(AX*8), Y4, Y0
	VMULPD    (R10)(AX*8), Y4, Y1
	VPERMPD   $0xD8, Y0, Y0
	VPERMPD   $0xD8, Y1, Y1
	VUNPCKLPD Y1, Y0, Y2
	VUNPCKHPD Y1, Y0, Y3
	VADDPD    (DI), Y2, Y2
	VADDPD    32(DI), Y3, Y3
	VMOVUPD   Y2, (DI)
	VMOVUPD   Y3, 32(DI)
	ADDQ      $64, DI
	ADDQ      $4, AX
	CMPQ      AX, CX
	JLT       overlap
	VZEROUPPER
	RET

// ORDER puts two numbers in order.
#define ORDER(a, b) \
	VMINPD  b, a, Y9 \
	VMAXPD  b, a, b  \
	VMOVAPD Y9, a

// func medians4(out *float64, powers *[acrossTime]*float64, n int)
//
// The pairs are those of medianOf9.
TEXT ·medians4(SB), NOSPLIT, $0-24
	MOVQ out+0(FP), DI
	MOVQ powers+8(FP), SI
	MOVQ n+16(FP), CX
	MOVQ 0(SI), R8
	MOVQ 8(SI), R9
	MOVQ 16(SI), R10
	MOVQ 24(SI), R11
	MOVQ 32(SI), R12
	MOVQ 40(SI), R13
	MOVQ 48(SI), DX
	MOVQ 56(SI), BX
	MOVQ 64(SI), SI
	XORQ AX, AX

medians:
	VMOVUPD (R8)(AX*8), Y0
	VMOVUPD (R9)(AX*8), Y1
	VMOVUPD (R10)(AX*8), Y2
	VMOVUPD (R11)(AX*8), Y3
	VMOVUPD (R12)(AX*8), Y4
	VMOVUPD (R13)(AX*8), Y5
	VMOVUPD (DX)(AX*8), Y6
	VMOVUPD (BX)(AX*8), Y7
	VMOVUPD (SI)(AX*8), Y8
	ORDER(Y1, Y2)
	ORDER(Y4, Y5)
	ORDER(Y7, Y8)
	ORDER(Y0, Y1)
	ORDER(Y3, Y4)
	ORDER(Y6, Y7)
	ORDER(Y1, Y2)
	ORDER(Y4, Y5)
	ORDER(Y7, Y8)
	ORDER(Y0, Y3)
	ORDER(Y5, Y8)
	ORDER(Y4, Y7)
	ORDER(Y3, Y6)
	ORDER(Y1, Y4)
	ORDER(Y2, Y5)
	ORDER(Y4, Y7)
	ORDER(Y4, Y2)
	ORDER(Y6, Y4)
	ORDER(Y4, Y2)
	VMOVUPD Y4, (DI)(AX*8)
	ADDQ    $4, AX
	CMPQ    AX, CX
	JLT     medians
	VZEROUPPER
	RET

// What a stroke has to pass, over what lasts.
DATA ·least+0(SB)/8, $2.25
GLOBL ·least(SB), RODATA|NOPTR, $8

// COUNT takes 1 off for a power that is passed.
#define COUNT(at, count) \
	VCMPPD $1, at(R8)(AX*8), Y0, Y1 \
	VPADDQ Y1, count, count

// func above4(above *int64, around, inTime *float64, n int)
TEXT ·above4(SB), NOSPLIT, $0-32
	MOVQ above+0(FP), DI
	MOVQ around+8(FP), R8
	MOVQ inTime+16(FP), R9
	MOVQ n+24(FP), CX
	XORQ AX, AX
	VBROADCASTSD ·least(SB), Y15

above:
	VMOVUPD (R9)(AX*8), Y0
	VMAXPD  8(R9)(AX*8), Y0, Y0
	VMAXPD  16(R9)(AX*8), Y0, Y0
	VMULPD  Y15, Y0, Y0
	VPXOR   Y2, Y2, Y2
	VPXOR   Y3, Y3, Y3
	COUNT(0, Y2)
	COUNT(8, Y3)
	COUNT(16, Y2)
	COUNT(24, Y3)
	COUNT(32, Y2)
	COUNT(40, Y3)
	COUNT(48, Y2)
	COUNT(56, Y3)
	COUNT(64, Y2)
	COUNT(72, Y3)
	COUNT(80, Y2)
	COUNT(88, Y3)
	COUNT(96, Y2)
	COUNT(104, Y3)
	COUNT(112, Y2)
	COUNT(120, Y3)
	COUNT(128, Y2)
	VPADDQ  Y3, Y2, Y2
	VPXOR   Y3, Y3, Y3
	VPSUBQ  Y2, Y3, Y2
	VMOVDQU Y2, (DI)(AX*8)
	ADDQ    $4, AX
	CMPQ    AX, CX
	JLT     above
	VZEROUPPER
	RET
