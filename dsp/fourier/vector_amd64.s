#include "textflag.h"

// func mulAdd4(yr, yi, ar, ai, br, bi *float64, n int)
TEXT ·mulAdd4(SB), NOSPLIT, $0-56
	MOVQ yr+0(FP), DI
	MOVQ yi+8(FP), SI
	MOVQ ar+16(FP), R8
	MOVQ ai+24(FP), R9
	MOVQ br+32(FP), R10
	MOVQ bi+40(FP), R11
	MOVQ n+48(FP), CX
	XORQ AX, AX

product:
	VMOVUPD (R8)(AX*8), Y0
	VMOVUPD (R9)(AX*8), Y1
	VMOVUPD (R10)(AX*8), Y2
	VMOVUPD (R11)(AX*8), Y3
	VMULPD  Y2, Y0, Y4
	VMULPD  Y3, Y1, Y5
	VSUBPD  Y5, Y4, Y4
	VADDPD  (DI)(AX*8), Y4, Y4
	VMULPD  Y3, Y0, Y6
	VMULPD  Y2, Y1, Y7
	VADDPD  Y7, Y6, Y6
	VADDPD  (SI)(AX*8), Y6, Y6
	VMOVUPD Y4, (DI)(AX*8)
	VMOVUPD Y6, (SI)(AX*8)
	ADDQ    $4, AX
	CMPQ    AX, CX
	JLT     product
	VZEROUPPER
	RET

// func firstPass4(yr, yi, xr, xi, turns *float64, m int)
TEXT ·firstPass4(SB), NOSPLIT, $0-48
	MOVQ yr+0(FP), DI
	MOVQ yi+8(FP), SI
	MOVQ xr+16(FP), R8
	MOVQ xi+24(FP), R9
	MOVQ turns+32(FP), R10
	MOVQ m+40(FP), CX
	MOVQ CX, R12
	SHLQ $3, R12          // bytes from a to b, b to c, one factor to the next
	LEAQ (R12)(R12*2), R13
	LEAQ (R10)(R12*4), R11

first:
	VMOVUPD (R8), Y8
	VMOVUPD (R8)(R12*2), Y9
	VADDPD  Y9, Y8, Y0    // sr = ar + cr
	VSUBPD  Y9, Y8, Y2    // tr = ar - cr
	VMOVUPD (R9), Y8
	VMOVUPD (R9)(R12*2), Y9
	VADDPD  Y9, Y8, Y1    // si
	VSUBPD  Y9, Y8, Y3    // ti
	VMOVUPD (R8)(R12*1), Y8
	VMOVUPD (R8)(R13*1), Y9
	VADDPD  Y9, Y8, Y4    // ur = br + dr
	VSUBPD  Y9, Y8, Y6    // vr = br - dr
	VMOVUPD (R9)(R12*1), Y8
	VMOVUPD (R9)(R13*1), Y9
	VADDPD  Y9, Y8, Y5    // ui
	VSUBPD  Y9, Y8, Y7    // vi

	VADDPD  Y4, Y0, Y8    // the first result
	VADDPD  Y5, Y1, Y9
	VSUBPD  Y4, Y0, Y0    // the third is (sr - ur, si - ui) times the second factor
	VSUBPD  Y5, Y1, Y1
	VADDPD  Y7, Y2, Y4    // the second (tr + vi, ti - vr) times the first
	VSUBPD  Y6, Y3, Y5
	VSUBPD  Y7, Y2, Y2    // the fourth (tr - vi, ti + vr) times the third
	VADDPD  Y6, Y3, Y3

	VMOVUPD (R10), Y14
	VMOVUPD (R10)(R12*1), Y15
	VMULPD  Y14, Y4, Y10
	VMULPD  Y15, Y5, Y11
	VSUBPD  Y11, Y10, Y10
	VMULPD  Y15, Y4, Y11
	VMULPD  Y14, Y5, Y12
	VADDPD  Y12, Y11, Y11

	VMOVUPD (R10)(R12*2), Y14
	VMOVUPD (R10)(R13*1), Y15
	VMULPD  Y14, Y0, Y6
	VMULPD  Y15, Y1, Y7
	VSUBPD  Y7, Y6, Y6
	VMULPD  Y15, Y0, Y7
	VMULPD  Y14, Y1, Y12
	VADDPD  Y12, Y7, Y7

	VMOVUPD (R11), Y14
	VMOVUPD (R11)(R12*1), Y15
	VMULPD  Y14, Y2, Y12
	VMULPD  Y15, Y3, Y13
	VSUBPD  Y13, Y12, Y12
	VMULPD  Y15, Y2, Y13
	VMULPD  Y14, Y3, Y0
	VADDPD  Y0, Y13, Y13

	VUNPCKLPD Y10, Y8, Y0 // the four results of each, side by side
	VUNPCKHPD Y10, Y8, Y1
	VUNPCKLPD Y12, Y6, Y2
	VUNPCKHPD Y12, Y6, Y3
	VPERM2F128 $0x20, Y2, Y0, Y4
	VPERM2F128 $0x20, Y3, Y1, Y5
	VPERM2F128 $0x31, Y2, Y0, Y14
	VPERM2F128 $0x31, Y3, Y1, Y15
	VMOVUPD Y4, (DI)
	VMOVUPD Y5, 32(DI)
	VMOVUPD Y14, 64(DI)
	VMOVUPD Y15, 96(DI)
	VUNPCKLPD Y11, Y9, Y0
	VUNPCKHPD Y11, Y9, Y1
	VUNPCKLPD Y13, Y7, Y2
	VUNPCKHPD Y13, Y7, Y3
	VPERM2F128 $0x20, Y2, Y0, Y4
	VPERM2F128 $0x20, Y3, Y1, Y5
	VPERM2F128 $0x31, Y2, Y0, Y14
	VPERM2F128 $0x31, Y3, Y1, Y15
	VMOVUPD Y4, (SI)
	VMOVUPD Y5, 32(SI)
	VMOVUPD Y14, 64(SI)
	VMOVUPD Y15, 96(SI)

	ADDQ $32, R8
	ADDQ $32, R9
	ADDQ $32, R10
	ADDQ $32, R11
	ADDQ $128, DI
	ADDQ $128, SI
	SUBQ $4, CX
	JG   first
	VZEROUPPER
	RET

// func pass4(yr, yi, xr, xi, turns *float64, m, s int)
TEXT ·pass4(SB), NOSPLIT, $0-56
	MOVQ yr+0(FP), DI
	MOVQ yi+8(FP), SI
	MOVQ xr+16(FP), R8
	MOVQ xi+24(FP), R9
	MOVQ turns+32(FP), R10
	MOVQ m+40(FP), R12
	MOVQ s+48(FP), BX
	MOVQ R12, R11         // numbers left
	MOVQ BX, AX           // of each transform
	SHLQ $3, R12          // bytes from a to b, b to c
	SHLQ $3, BX           // bytes from one result to the next
	LEAQ (R12)(R12*2), R13
	LEAQ (BX)(BX*2), DX

transform:
	VBROADCASTSD 0(R10), Y10
	VBROADCASTSD 8(R10), Y11
	VBROADCASTSD 16(R10), Y12
	VBROADCASTSD 24(R10), Y13
	VBROADCASTSD 32(R10), Y14
	VBROADCASTSD 40(R10), Y15
	MOVQ AX, CX

butterfly:
	VMOVUPD (R8), Y0
	VMOVUPD (R8)(R12*2), Y1
	VADDPD  Y1, Y0, Y2    // sr = ar + cr
	VSUBPD  Y1, Y0, Y3    // tr = ar - cr
	VMOVUPD (R8)(R12*1), Y0
	VMOVUPD (R8)(R13*1), Y1
	VADDPD  Y1, Y0, Y4    // ur = br + dr
	VSUBPD  Y1, Y0, Y5    // vr = br - dr
	VMOVUPD (R9), Y0
	VMOVUPD (R9)(R12*2), Y1
	VADDPD  Y1, Y0, Y6    // si
	VSUBPD  Y1, Y0, Y7    // ti
	VMOVUPD (R9)(R12*1), Y0
	VMOVUPD (R9)(R13*1), Y1
	VADDPD  Y1, Y0, Y8    // ui
	VSUBPD  Y1, Y0, Y9    // vi

	VADDPD  Y4, Y2, Y0
	VADDPD  Y8, Y6, Y1
	VMOVUPD Y0, (DI)
	VMOVUPD Y1, (SI)

	VSUBPD  Y4, Y2, Y2    // (sr - ur, si - ui) times the second factor
	VSUBPD  Y8, Y6, Y6
	VMULPD  Y12, Y2, Y0
	VMULPD  Y13, Y6, Y1
	VSUBPD  Y1, Y0, Y0
	VMOVUPD Y0, (DI)(BX*2)
	VMULPD  Y13, Y2, Y0
	VMULPD  Y12, Y6, Y1
	VADDPD  Y1, Y0, Y0
	VMOVUPD Y0, (SI)(BX*2)

	VADDPD  Y9, Y3, Y2    // (tr + vi, ti - vr) times the first
	VSUBPD  Y5, Y7, Y4
	VMULPD  Y10, Y2, Y0
	VMULPD  Y11, Y4, Y1
	VSUBPD  Y1, Y0, Y0
	VMOVUPD Y0, (DI)(BX*1)
	VMULPD  Y11, Y2, Y0
	VMULPD  Y10, Y4, Y1
	VADDPD  Y1, Y0, Y0
	VMOVUPD Y0, (SI)(BX*1)

	VSUBPD  Y9, Y3, Y2    // (tr - vi, ti + vr) times the third
	VADDPD  Y5, Y7, Y4
	VMULPD  Y14, Y2, Y0
	VMULPD  Y15, Y4, Y1
	VSUBPD  Y1, Y0, Y0
	VMOVUPD Y0, (DI)(DX*1)
	VMULPD  Y15, Y2, Y0
	VMULPD  Y14, Y4, Y1
	VADDPD  Y1, Y0, Y0
	VMOVUPD Y0, (SI)(DX*1)

	ADDQ $32, R8
	ADDQ $32, R9
	ADDQ $32, DI
	ADDQ $32, SI
	SUBQ $4, CX
	JG   butterfly
	ADDQ DX, DI           // past the other three results
	ADDQ DX, SI
	ADDQ $48, R10
	SUBQ AX, R11
	JG   transform
	VZEROUPPER
	RET
